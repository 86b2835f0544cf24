"""The dummy: a book read page by page."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from reviews.pages.dummy import dummy_page
from reviews.queries.access import get_book
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def dummy(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id)
    laid = dummy_page(book, seat)
    context = {
        "book": book,
        "dummy": laid,
        "shown": laid.at(request.GET.get("at")),
        "art": "approved" if request.GET.get("art") == "approved" else "newest",
        "crumbs": crumbs(book, ("Dummy", "")),
    }
    return render(request, "reviews/books/dummy.html", context)
