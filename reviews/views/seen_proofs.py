"""A photographed or scanned proof held against the final art."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from reviews.actions.seen_proofs import ask_for_seen_proof
from reviews.pages.seen_proofs import page_of_seen_proof
from reviews.pages.wording.seen_proofs import INDICATIVE
from reviews.queries.access import NotThere, get_picture
from reviews.queries.seen_proofs import seen_asked, seen_sheet
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def seen_proof(request: SignedInRequest, picture_id: int) -> HttpResponse:
    picture, seat = get_picture(request.user, picture_id, thing="geometry")
    passage = picture.hand_in.passage
    above = (passage.where, reverse("reviews:passage", args=[passage.pk]))
    context = {
        "seen": page_of_seen_proof(picture),
        "row": passage,
        "seat": seat,
        "indicative": INDICATIVE,
        "crumbs": crumbs(passage.book, above, (_("Proof beside the art"), "")),
    }
    return render(request, "reviews/print/seen_proof.html", context)


@require_POST
def ask_seen_proof(request: SignedInRequest, picture_id: int) -> HttpResponse:
    picture, seat = get_picture(request.user, picture_id, thing="geometry")
    ask_for_seen_proof(picture, actor=seat)
    return redirect("reviews:seen-proof", picture.pk)


@require_GET
def seen_proof_sheet(request: SignedInRequest, picture_id: int) -> HttpResponse:
    """Send the sheet to lay over the photograph: to whoever may see the photograph itself."""
    picture, _seat = get_picture(request.user, picture_id, thing="geometry")
    asked = seen_asked(picture)
    data = seen_sheet(asked) if asked else None
    if data is None:
        raise NotThere
    return HttpResponse(data, content_type="image/png", headers={"Cache-Control": "private, no-cache"})
