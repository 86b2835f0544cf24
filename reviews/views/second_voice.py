"""The second voice: the editor agrees to a hand-in, or does not."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from reviews.actions import second_voice
from reviews.forms.answers import ObjectionForm
from reviews.forms.filled import filled_in
from reviews.queries.access import get_hand_in
from reviews.rules.states import Deed, PassageState
from reviews.views.signed_in import SignedInRequest


@require_POST
def agree(request: SignedInRequest, hand_in_id: int) -> HttpResponse:
    hand_in, seat = get_hand_in(request.user, hand_in_id, deed=Deed.AGREE)
    passage = second_voice.agree(hand_in.pk, actor=seat)
    if passage.state == PassageState.APPROVED:
        said = f"With both sign-offs {passage.where} is approved."
    else:
        said = f"Your agreement to hand-in {hand_in.number} is kept. It is approved once the letter says so."
    messages.success(request, said)
    return redirect("reviews:passage", passage.pk)


@require_POST
def object_to(request: SignedInRequest, hand_in_id: int) -> HttpResponse:
    hand_in, seat = get_hand_in(request.user, hand_in_id, deed=Deed.OBJECT)
    given = filled_in(ObjectionForm(request.POST), "objection-needs-words")
    passage = second_voice.object_to(hand_in.pk, given["words"], actor=seat)
    messages.success(request, "The art director is told why you do not agree.")
    return redirect("reviews:passage", passage.pk)
