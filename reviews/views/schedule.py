"""The schedule of a book: who had what when, what was planned, and when it will be done."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from reviews.actions.forecasts import ask_for_forecast
from reviews.pages.schedule import schedule_page
from reviews.queries.access import get_book
from reviews.queries.forecasts import forecast_of, has_failed
from reviews.queries.line_names import names_of
from reviews.queries.reckoning import reckon_one
from reviews.rules.states import Role
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def schedule(request: SignedInRequest, book_id: int) -> HttpResponse:
    """A forecast that the book has outgrown is shown as such while a new one is asked for."""
    book, seat = get_book(request.user, book_id, thing="schedule")
    reckoned = reckon_one(book, timezone.now())
    inputs = reckoned.question().fingerprint
    found = forecast_of(book, inputs)
    job = None if found and found.is_current else ask_for_forecast(book, inputs)
    context = {
        "book": book,
        "seat": seat,
        "page": schedule_page(reckoned, Role(seat.role), found.told if found else None),
        "forecast": found,
        "outlook": found.told.outlook if found else None,
        "line_names": names_of(book.pk, Role(seat.role)),
        "has_failed": job is not None and has_failed(job),
        "crumbs": crumbs(book, ("Schedule", "")),
    }
    return render(request, "reviews/schedule/schedule.html", context)
