"""Take on a stopper at the proof."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from reviews.actions.taken_faults import take_on_fault as take_on
from reviews.forms.filled import filled_in
from reviews.forms.taken_faults import TakeOnForm
from reviews.queries.access import get_passage
from reviews.rules.states import Deed
from reviews.views.signed_in import SignedInRequest


@require_POST
def take_on_fault(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.TAKE_ON_FAULT)
    given = filled_in(TakeOnForm(request.POST), "taken-fault-reason")
    take_on(
        passage.pk,
        picture_id=given["picture"],
        code=given["code"],
        seen=given["seen"],
        reason=given["reason"],
        actor=seat,
    )
    messages.success(request, "It is taken on in your name. Both sides read it in the ledger.")
    return redirect("reviews:passage", passage.pk)
