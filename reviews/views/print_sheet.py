"""The print sheet of a book, or of one of its spreads."""

from __future__ import annotations

from django.http import HttpResponse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_GET

from reviews.models import Book, Seat, Spread
from reviews.notices.print_sheet import print_sheet_pdf
from reviews.pages.plans import get_spread
from reviews.pages.print_page import page_of_print
from reviews.pages.print_sheet import sheet_of
from reviews.queries.access import get_book
from reviews.queries.print_set_ups import print_of
from reviews.queries.store_turns import store_turn
from reviews.rules import permits
from reviews.rules.states import Role
from reviews.views.signed_in import SignedInRequest


@require_GET
def book_sheet(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="geometry")
    return _paper(book, seat)


@require_GET
def spread_sheet(request: SignedInRequest, spread_id: int) -> HttpResponse:
    spread, seat = get_spread(request.user, spread_id)
    return _paper(spread.book, seat, spread)


def _paper(book: Book, seat: Seat, spread: Spread | None = None) -> HttpResponse:
    shown = print_of(book)
    facts = [f"{fact.words}: {fact.value}" for fact in page_of_print(book, shown, shown.figures.unit).facts]
    reads_letters = permits.sees(Role(seat.role), "letters")
    with store_turn():
        pdf = print_sheet_pdf(sheet_of(book, facts, spread, with_letters=reads_letters))
    name = f"{book.title}{f', {spread.label}' if spread else ''}, print sheet.pdf"
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = str(content_disposition_header(False, name))
    response["Cache-Control"] = "private, no-store"
    return response
