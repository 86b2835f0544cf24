"""The wall: all of a book on one screen."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from reviews.pages.wall import wall_page
from reviews.queries.access import get_book
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def wall(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id)
    hung = wall_page(book, seat, shows=request.GET.get("show", ""))
    context = {
        "book": book,
        "seat": seat,
        "wall": hung,
        "is_grey": request.GET.get("grey") == "yes",
        "crumbs": crumbs(book, ("Wall", "")),
        "caution": True,
    }
    return render(request, f"reviews/books/{'bare_wall' if hung.is_bare else 'wall'}.html", context)
