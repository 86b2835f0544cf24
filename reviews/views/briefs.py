"""Briefs: read by both sides, written by the publisher; pictures and PDFs beside them."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST

from reviews import storage
from reviews.actions import briefs
from reviews.forms.briefs import BriefForm, OfSpreadForm
from reviews.forms.filled import filled_in
from reviews.imaging.results import PREVIEW_NAME, THUMB_NAME
from reviews.models import Book, Seat, Spread
from reviews.pages.briefs import brief_page
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.access import NotThere, get_book
from reviews.queries.briefs import get_reference, get_spread_for_brief, reference_rendition
from reviews.queries.store_turns import store_turn
from reviews.rules.states import Deed, Refused
from reviews.views.responses import answer, done
from reviews.views.signed_in import SignedInRequest
from reviews.views.trail import crumbs

KEEP = "private, max-age=86400, immutable"


@require_GET
def book_brief(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, thing="brief")
    return _shown(request, book, None, seat)


@require_GET
def spread_brief(request: SignedInRequest, spread_id: int) -> HttpResponse:
    spread, seat = get_spread_for_brief(request.user, spread_id)
    return _shown(request, spread.book, spread, seat)


@require_POST
def change_brief(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.CHANGE_BRIEF)
    form = BriefForm(request.POST)
    given = filled_in(form, "spread-elsewhere")
    spread = _spread_of(request, given["spread"], book)
    try:
        written = briefs.change_brief(book.pk, given["spread"], form.parts, seen=given["seen"], actor=seat)
    except Refused as refused:
        return _shown(request, book, spread, seat, typed=form.parts, refusal=refused, status=409)
    messages.success(
        request, _("Version {n} of the brief is saved. The illustrator is told.").format(n=written.version)
    )
    return _back(book, spread)


@require_POST
def add_references(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.ADD_REFERENCES)
    given = filled_in(OfSpreadForm(request.POST), "spread-elsewhere")
    spread = _spread_of(request, given["spread"], book)
    made = briefs.add_references(book.pk, given["spread"], request.FILES.getlist("file"), actor=seat)
    told = ngettext("{n} reference put beside the brief.", "{n} references put beside the brief.", len(made))
    messages.success(request, told.format(n=len(made)))
    return _back(book, spread)


@require_POST
def remove_reference(request: SignedInRequest, reference_id: int) -> HttpResponse:
    reference, seat = get_reference(request.user, reference_id, deed=Deed.REMOVE_REFERENCE)
    briefs.remove_reference(reference.pk, actor=seat)
    return done(request, _("{name} is taken away from the brief.").format(name=reference.file_name))


@require_GET
def reference_preview(request: SignedInRequest, reference_id: int, size: str) -> HttpResponse:
    reference, _seat = get_reference(request.user, reference_id)
    data = reference_rendition(reference, THUMB_NAME if size == "thumb" else PREVIEW_NAME)
    if data is None:
        raise NotThere
    return HttpResponse(data, content_type="image/jpeg", headers={"Cache-Control": KEEP})


@require_GET
def reference_original(request: SignedInRequest, reference_id: int) -> FileResponse | HttpResponse:
    """Send the file bit for bit, always as a download, as a picture's original is."""
    reference, _seat = get_reference(request.user, reference_id)
    try:
        with store_turn(reference.n_bytes):
            stored = storage.fetch_stored(storage.original_name(reference.sha256))
    except FileNotFoundError:
        return answer(request, _("The file is missing from the store. Tell whoever runs this portal."), status=404)
    response = FileResponse(
        stored, as_attachment=True, filename=reference.file_name, content_type="application/octet-stream"
    )
    response["Content-Security-Policy"] = "sandbox; default-src 'none'"
    response["Cache-Control"] = "private, no-store"
    return response


def _spread_of(request: SignedInRequest, spread_id: int | None, book: Book) -> Spread | None:
    if spread_id is None:
        return None
    spread, _seat = get_spread_for_brief(request.user, spread_id)
    if spread.book_id != book.pk:
        raise NotThere
    return spread


def _back(book: Book, spread: Spread | None) -> HttpResponse:
    return redirect("reviews:spread-brief", spread.pk) if spread else redirect("reviews:book-brief", book.pk)


def _shown(
    request: SignedInRequest,
    book: Book,
    spread: Spread | None,
    seat: Seat,
    *,
    typed: dict[str, str] | None = None,
    refusal: Refused | None = None,
    status: int = 200,
) -> HttpResponse:
    page = brief_page(book, spread, seat, typed=typed)
    here: Any = crumbs(book, (_("Brief: {whose}").format(whose=page.whose), ""))
    context = {
        "page": page,
        "book": book,
        "seat": seat,
        "crumbs": here,
        "refusal": sentence_for(refusal) if refusal else "",
    }
    return render(request, "reviews/briefs/brief.html", context, status=status)
