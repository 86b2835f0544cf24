"""Take back a letter sent by mistake."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from reviews.actions.taking_back import take_back_letter as take_back
from reviews.forms.filled import filled_in
from reviews.forms.invoices import BecauseForm
from reviews.queries.access import get_letter
from reviews.rules.states import Deed
from reviews.views.signed_in import SignedInRequest


@require_POST
def take_back_letter(request: SignedInRequest, letter_id: int) -> HttpResponse:
    letter, seat = get_letter(request.user, letter_id, deed=Deed.TAKE_BACK_LETTER)
    given = filled_in(BecauseForm(request.POST), "words-too-long")
    take_back(letter.pk, given["because"], actor=seat)
    messages.success(
        request,
        f"Letter {letter.number} is taken back. The illustrator is being told; its notes lie in the draft again.",
    )
    return redirect("reviews:letter", letter.pk)
