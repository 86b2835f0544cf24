"""The first screen: what waits on me, across all my books."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from reviews.pages.desk import desk_of
from reviews.pages.desk_parts import parts_of
from reviews.pages.farewell import farewells_in
from reviews.pages.good_news import approved_lately
from reviews.pages.proposals import proposals_waiting_on
from reviews.queries.consents import consents_waiting_on
from reviews.queries.people import may_set_up_books
from reviews.views.signed_in import SignedInRequest


@require_GET
def desk(request: SignedInRequest) -> HttpResponse:
    found = desk_of(request.user)
    if found.only_passage is not None:
        return redirect("reviews:passage", found.only_passage)
    now = timezone.now()
    context = {
        "desk": found,
        "parts": parts_of(found, request.GET),
        "good_news": approved_lately(found.seats, at=now),
        "consents": consents_waiting_on(found.seats, found.rounds, at=now),
        "proposals": proposals_waiting_on(found.seats, at=now),
        "may_set_up": may_set_up_books(request.user, found.seats),
        "farewells": farewells_in(found.every_seat),
        "caution": bool(found.books),
    }
    return render(request, "reviews/desk/desk.html", context)
