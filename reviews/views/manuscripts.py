"""A manuscript: brought, broken over the pages, looked at, kept."""

from __future__ import annotations

from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST

from reviews.actions.manuscripts import place_manuscript
from reviews.forms.filled import filled_in
from reviews.forms.manuscript import BrokenForm, ManuscriptForm
from reviews.models import Book, Seat
from reviews.pages.manuscript import art_of, manuscript_page
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.access import get_book
from reviews.queries.seats import has_illustrator
from reviews.rules.manuscript import BrokenText, ManuscriptRemark, as_text, break_over, moved
from reviews.rules.states import Deed, Refused
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs


@require_GET
def manuscript(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="manuscript")
    return _brought(request, book, seat, ManuscriptForm())


@require_POST
def break_manuscript(request: SignedInRequest, book_id: int) -> HttpResponse:
    """Break what is brought over the pages; nothing is kept."""
    book, seat = get_book(request.user, book_id, deed=Deed.SET_TEXT)
    form = ManuscriptForm(request.POST, request.FILES)
    try:
        filled_in(form, "manuscript-unreadable")
        brought = form.text()
        broken = break_over(brought.text, art_of(book))
    except Refused as refused:
        return _brought(request, book, seat, form, refusal=refused)
    return _shown(request, book, seat, broken, remarks=brought.remarks, language=form.cleaned_data["language"])


@require_POST
def move_break(request: SignedInRequest, book_id: int) -> HttpResponse:
    """Read the pages' words anew, with one break moved where that is asked; nothing is kept."""
    book, seat = get_book(request.user, book_id, deed=Deed.SET_TEXT)
    form, art, refusal = BrokenForm(request.POST), art_of(book), None
    try:
        broken = form.broken(art)
    except Refused as refused:
        return _brought(request, book, seat, _again(request), refusal=refused)
    try:
        broken = moved(broken, *form.asked_move, art) if form.asked_move else broken
    except Refused as refused:
        refusal = refused
    language, seen = form.carried
    return _shown(request, book, seat, broken, language=language, seen=seen, refusal=refusal)


@require_POST
def keep_manuscript(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.SET_TEXT)
    form = BrokenForm(request.POST)
    try:
        broken = form.broken(art_of(book))
    except Refused as refused:
        return _brought(request, book, seat, _again(request), refusal=refused)
    language, seen = form.carried
    try:
        made = place_manuscript(book.pk, broken.words, seen=form.versions, language=language, actor=seat)
    except Refused as refused:
        # Who was told that a text is another now, and reads it there, begins from what is there now.
        since = None if refused.code == "text-changed-meanwhile" else seen
        return _shown(request, book, seat, broken, language=language, seen=since, refusal=refused, status=409)
    told = ngettext("The text of {n} spread is placed.", "The text of {n} spreads is placed.", len(made))
    messages.success(request, f"{told.format(n=len(made))} {_who_hears(book)}")
    return redirect("reviews:book-map", book.pk)


def _again(request: SignedInRequest) -> ManuscriptForm:
    """Give back what was sent and could not be read, so that nothing typed is lost."""
    return ManuscriptForm(initial={"words": request.POST.get("words", "")})


def _who_hears(book: Book) -> str:
    if has_illustrator(book.pk):
        return _("The illustrator is told.")
    return _("Nobody has the illustrator’s seat yet; whoever takes it finds the text there.")


def _brought(
    request: SignedInRequest, book: Book, seat: Seat, form: ManuscriptForm, *, refusal: Refused | None = None
) -> HttpResponse:
    context = _context(book, seat, refusal) | {"form": form, "page": manuscript_page(book)}
    return render(request, "reviews/text/manuscript.html", context, status=422 if refusal else 200)


def _shown(
    request: SignedInRequest,
    book: Book,
    seat: Seat,
    broken: BrokenText,
    *,
    language: str,
    remarks: Sequence[ManuscriptRemark] = (),
    seen: str | None = None,
    refusal: Refused | None = None,
    status: int = 200,
) -> HttpResponse:
    page = manuscript_page(book, broken, remarks=remarks, seen=seen)
    context = _context(book, seat, refusal) | {"page": page, "language": language, "text": as_text(broken)}
    return render(request, "reviews/text/manuscript_pages.html", context, status=status)


def _context(book: Book, seat: Seat, refusal: Refused | None) -> dict:
    return {
        "book": book,
        "seat": seat,
        "crumbs": crumbs(book, (_("Manuscript"), "")),
        "refusal": _refused(refusal) if refusal else "",
    }


def _refused(refusal: Refused) -> str:
    where = refusal.values.get("on_spread")
    return f"{where}: {sentence_for(refusal)}" if where else sentence_for(refusal)
