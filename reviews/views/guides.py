"""The guides: one for each part, within the portal itself."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from reviews.pages.wording.guides import GUIDES
from reviews.pages.wording.names import ROLE_WORDS
from reviews.rules.states import Role
from reviews.views.signed_in import SignedInRequest


@require_GET
def guide(request: SignedInRequest, part: str) -> HttpResponse:
    if part not in set(Role):
        raise Http404
    role = Role(part)
    context = {
        "guide": GUIDES[role],
        "name": ROLE_WORDS[role],
        "parts": [(one.value, capfirst(ROLE_WORDS[one]), one == role) for one in GUIDES],
        "crumbs": [{"label": _("Guide"), "url": ""}],
    }
    return render(request, "reviews/guides/guide.html", context)
