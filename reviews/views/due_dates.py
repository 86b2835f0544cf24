"""Dates moved, with a reason both sides read."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from reviews.actions.books import move_due_date as move
from reviews.forms.due_dates import DueDateForm
from reviews.forms.filled import filled_in
from reviews.queries.access import get_passage
from reviews.rules.states import Deed
from reviews.views.signed_in import SignedInRequest


@require_POST
def move_due_date(request: SignedInRequest, passage_id: int) -> HttpResponse:
    passage, seat = get_passage(request.user, passage_id, deed=Deed.MOVE_DUE_DATE)
    given = filled_in(DueDateForm(request.POST), "date-unreadable")
    move(passage.pk, to=given["to"], reason=given["reason"], which=given["which"], actor=seat)
    day = given["to"]
    messages.success(request, f"{passage.where}: moved to {day.day} {day:%B %Y}. Both sides are told why.")
    return redirect("reviews:passage", passage.pk)
