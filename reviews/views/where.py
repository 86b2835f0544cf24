"""What is known of a place, asked for while a form that names it is filled in."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from reviews.pages.closed_days import closed_days_of
from reviews.views.signed_in import SignedInRequest

_LONGEST = 120


@require_safe
def closed_days(request: SignedInRequest) -> HttpResponse:
    """Answer with a piece of a page: the next closed days of ``?place=``, by name or code."""
    typed = request.GET.get("place", "")[:_LONGEST]
    return render(request, "parts/closed_days.html", {"closed": closed_days_of(typed, timezone.localdate())})
