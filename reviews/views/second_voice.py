"""The second voice: the editor agrees to a hand-in, or does not; all that waits for it stands in a row."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST

from reviews.actions import second_voice
from reviews.forms.answers import AgreedForm, ObjectionForm
from reviews.forms.filled import filled_in
from reviews.models import Passage
from reviews.pages.second_sign_off import sign_offs
from reviews.queries.access import get_book, get_hand_in
from reviews.rules.states import Deed, PassageState
from reviews.views.responses import came_from
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def second_sign_off(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="second-sign-off")
    context = {
        "book": book,
        "seat": seat,
        "row": sign_offs(book, seat),
        "here": request.path,
        "crumbs": crumbs(book, ("Second sign-off", "")),
        "caution": True,
    }
    return render(request, "reviews/letters/sign_off.html", context)


@require_POST
def agree_together(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.AGREE)
    named = filled_in(AgreedForm(request.POST), "agree-to-nothing")["hand_in"]
    agreed = second_voice.agree_together(book.pk, named, actor=seat)
    said = ngettext(
        "With both sign-offs {n} spread is approved.", "With both sign-offs {n} spreads are approved.", len(agreed)
    )
    messages.success(request, said.format(n=len(agreed)))
    return redirect("reviews:second-sign-off", book.pk)


def _on_from(request: SignedInRequest, passage: Passage) -> HttpResponse:
    """Go on to the next in the row where one came from there, else back to the table."""
    row = reverse("reviews:second-sign-off", args=[passage.book_id])
    if request.POST.get("back") and came_from(request) == row:
        return redirect(row)
    return redirect("reviews:passage", passage.pk)


@require_POST
def agree(request: SignedInRequest, hand_in_id: int) -> HttpResponse:
    hand_in, seat = get_hand_in(request.user, hand_in_id, deed=Deed.AGREE)
    passage = second_voice.agree(hand_in.pk, actor=seat)
    if passage.state == PassageState.APPROVED:
        said = f"With both sign-offs {passage.where} is approved."
    else:
        said = f"Your agreement to hand-in {hand_in.number} is kept. It is approved once the letter says so."
    messages.success(request, said)
    return _on_from(request, passage)


@require_POST
def object_to(request: SignedInRequest, hand_in_id: int) -> HttpResponse:
    hand_in, seat = get_hand_in(request.user, hand_in_id, deed=Deed.OBJECT)
    given = filled_in(ObjectionForm(request.POST), "objection-needs-words")
    passage = second_voice.object_to(hand_in.pk, given["words"], actor=seat)
    messages.success(request, "The art director is told why you do not agree.")
    return _on_from(request, passage)
