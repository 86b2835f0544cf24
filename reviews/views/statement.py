"""The statement of a book: on screen, on paper, as a table and as data, for today or any past day."""

from __future__ import annotations

import json
from datetime import date

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from reviews.forms.filled import filled_in
from reviews.forms.statement import DayForm
from reviews.forms.statement_deeds import money_deeds
from reviews.models import Seat
from reviews.notices.sheet_paper import sheet_pdf
from reviews.notices.spreadsheet import table_bytes
from reviews.notices.statement_paper import statement_pdf
from reviews.pages.statement import StatementPage, statement_page
from reviews.pages.statement_figures import HEADINGS, statement_json, statement_rows
from reviews.pages.statement_sheet import TenLines
from reviews.pages.wording.term_sets import CAUTION
from reviews.queries.access import get_book
from reviews.rules.states import Role
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def statement(request: SignedInRequest, book_id: int) -> HttpResponse:
    """``?as_of=`` asks for a past day."""
    page, seat = _page(request, book_id)
    context = {
        "book": page.book,
        "seat": seat,
        "page": page,
        "statement": page.statement,
        "line_names": page.line_names,
        "day": page.statement.as_of.isoformat(),
        "deeds": money_deeds(page, Role(seat.role)),
        "day_form": DayForm(initial={"as_of": page.statement.as_of}, latest=page.today),
        "caution_words": CAUTION,
        "crumbs": crumbs(page.book, ("Account", reverse("reviews:account", args=[page.book.pk])), ("Statement", "")),
    }
    return render(request, "reviews/statement/statement.html", context)


@require_GET
def statement_sheet(request: SignedInRequest, book_id: int) -> HttpResponse:
    """Ten lines to send on; ``?as_of=`` asks for a past day."""
    page, seat = _page(request, book_id)
    context = {
        "book": page.book,
        "seat": seat,
        "page": page,
        "sheet": TenLines(page),
        "line_names": page.line_names,
        "day": page.statement.as_of.isoformat(),
        "caution_words": CAUTION,
        "crumbs": crumbs(
            page.book, ("Statement", reverse("reviews:statement", args=[page.book.pk])), ("One page to send on", "")
        ),
    }
    return render(request, "reviews/statement/sheet.html", context)


@require_GET
def statement_sheet_paper(request: SignedInRequest, book_id: int) -> HttpResponse:
    page, _ = _page(request, book_id)
    return _file(sheet_pdf(TenLines(page)), "application/pdf", page, "one-page.pdf")


@require_GET
def statement_paper(request: SignedInRequest, book_id: int) -> HttpResponse:
    page, _ = _page(request, book_id)
    return _file(statement_pdf(page), "application/pdf", page, "pdf")


@require_GET
def statement_csv(request: SignedInRequest, book_id: int) -> HttpResponse:
    page, _ = _page(request, book_id)
    return _file(table_bytes(HEADINGS, statement_rows(page)), "text/csv; charset=utf-8", page, "csv")


@require_GET
def statement_data(request: SignedInRequest, book_id: int) -> HttpResponse:
    page, _ = _page(request, book_id)
    text = json.dumps(statement_json(page), ensure_ascii=False, indent=1)
    return _file(text.encode(), "application/json", page, "json")


def _page(request: SignedInRequest, book_id: int) -> tuple[StatementPage, Seat]:
    book, seat = get_book(request.user, book_id, thing="statement")
    as_of: date | None = None
    if request.GET.get("as_of"):
        as_of = filled_in(DayForm(request.GET), "statement-day")["as_of"]
    return statement_page(book, Role(seat.role), at=timezone.now(), as_of=as_of), seat


def _file(body: bytes, kind: str, page: StatementPage, ending: str) -> HttpResponse:
    response = HttpResponse(body, content_type=kind)
    name = f"statement-{page.book.pk}-{page.statement.as_of.isoformat()}.{ending}"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
