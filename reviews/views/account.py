"""The account of a book, and its ledger in plain sentences."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_GET

from reviews.forms.codes import CodesForm
from reviews.models import Book, Passage
from reviews.pages.account import account_of
from reviews.queries.access import NotThere, get_book, get_passage
from reviews.queries.codes import checked
from reviews.queries.ledger import lines_for, passages_told_of
from reviews.queries.line_names import last_stand, names_of
from reviews.rules.states import Role
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs

LINES_A_PAGE = 100
# More lines than this are not asked for one by one.
MOST_NUMBERS = 600


@require_GET
def account(request: SignedInRequest, book_id: int) -> HttpResponse:
    """``?all=1`` folds nothing away."""
    book, seat = get_book(request.user, book_id, thing="account")
    context = {
        "book": book,
        "seat": seat,
        "account": account_of(book, seat),
        "line_names": names_of(book.pk, Role(seat.role)),
        "unfolded": "all" in request.GET,
        "crumbs": crumbs(book, ("Account", "")),
    }
    return render(request, "reviews/account/account.html", context)


@require_GET
def ledger_codes(request: SignedInRequest, book_id: int) -> HttpResponse:
    """Hold codes from letters, mails and statements against the ledger; ``?codes=`` is what was pasted."""
    book, seat = get_book(request.user, book_id, thing="account")
    ledger_url = reverse("reviews:ledger", args=[book.pk])
    given = CodesForm(request.GET if "codes" in request.GET else None)
    context = {
        "book": book,
        "seat": seat,
        "form": given,
        "found": checked(book, Role(seat.role), given.cleaned_data["codes"]) if given.is_valid() else None,
        "stand": last_stand(book.pk, names_of(book.pk, Role(seat.role))),
        "crumbs": crumbs(book, ("Ledger", ledger_url), ("Check codes", "")),
    }
    return render(request, "reviews/ledger/codes.html", context)


@require_GET
def ledger(request: SignedInRequest, book_id: int) -> HttpResponse:
    """Show the ledger, or a part of it.

    ``?passage=`` narrows to one passage, ``?show=3,8.1`` points at lines, ``?only=3,8.1`` shows no others,
    ``?before=`` turns the page.
    """
    book, seat = get_book(request.user, book_id, thing="account")
    passage = _passage(request, book)
    only, before = _names(request.GET.get("only", "")), request.GET.get("before", "")
    # What is asked for and not there must not widen the answer: no line stands at place 0.
    places = {name: place for place, name in names_of(book.pk, Role(seat.role)).items()}
    wanted = [places.get(name, 0) for name in only]
    lines = lines_for(seat, passage=passage, only=wanted, before=places.get(before), newest=LINES_A_PAGE + 1)
    context = {
        "book": book,
        "seat": seat,
        "passage": passage,
        "passages": passages_told_of(seat),
        "lines": lines[:LINES_A_PAGE],
        "older": lines[LINES_A_PAGE - 1].name if len(lines) > LINES_A_PAGE else None,
        "shown": _names(request.GET.get("show", "")),
        "only": only,
        "crumbs": crumbs(book, ("Account", reverse("reviews:account", args=[book.pk])), ("Ledger", "")),
    }
    return render(request, "reviews/ledger/ledger.html", context)


def _passage(request: SignedInRequest, book: Book) -> Passage | None:
    asked = _number(request.GET.get("passage", ""))
    if not asked:
        return None
    passage, _ = get_passage(request.user, asked)
    if passage.book_id != book.pk:
        raise NotThere
    return passage


def _names(text: str) -> list[str]:
    return [part for part in text.split(",")[:MOST_NUMBERS] if part]


def _number(text: str) -> int | None:
    """Read a row's number from an address; anything else is as if it were not there."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else None
