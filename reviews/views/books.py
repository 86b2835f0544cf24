"""Set up a book, and see all of it at once."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from reviews.actions.books import NewBook, make_book
from reviews.forms.books import PAGE_COUNTS, NewBookForm
from reviews.forms.where import offered
from reviews.models.stage_names import speak_of
from reviews.pages.book_map import map_page
from reviews.pages.first_steps import steps_of
from reviews.pages.plans import Preview, preview
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.access import NotAllowed, get_book, live_seats
from reviews.queries.people import may_set_up_books
from reviews.rules.states import Refused
from reviews.views.signed_in import SignedInRequest


@require_GET
def book_map(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id)
    laid = map_page(book, seat)
    context = {
        "book": book,
        "seat": seat,
        "map": laid,
        "first": steps_of(book, seat, laid),
        "crumbs": [{"label": book.title, "url": ""}],
        "caution": True,
    }
    return render(request, "reviews/books/book_map.html", context)


@require_http_methods(["GET", "POST"])
def new_book(request: SignedInRequest) -> HttpResponse:
    if not may_set_up_books(request.user, live_seats(request.user)):
        raise NotAllowed
    form = NewBookForm(request.POST or None, today=timezone.localdate())
    shown = None
    if request.method == "POST" and form.is_valid():
        try:
            if "preview" not in request.POST:
                return _made(request, form.as_new_book())
            shown = _preview(form.as_new_book())
        except Refused as refused:
            form.add_error(None, sentence_for(refused))
    return render(request, "reviews/books/new_book.html", _offer(form, shown))


def _made(request: SignedInRequest, new: NewBook) -> HttpResponse:
    book = make_book(new, actor=request.user)
    messages.success(request, f"{book.title} is set up. Its first steps are below.")
    return redirect("reviews:book-map", book.pk)


def _preview(new: NewBook) -> Preview:
    speak_of(new)
    return preview(
        n_pages=new.n_pages,
        binding=new.binding,
        ends=new.ends,
        inside=new.inside,
        cover=new.cover,
        start_on=new.start_on,
        final_on=new.final_on,
        places=new.places,
    )


def _offer(form: NewBookForm, shown: Preview | None) -> dict:
    return {
        "form": form,
        "preview": shown,
        "crumbs": [{"label": "Set up a book", "url": ""}],
        **offered(),
        "page_counts": PAGE_COUNTS,
        "caution": True,
    }
