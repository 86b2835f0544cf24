"""A template to draw on, for one spread or for a piece of the book."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_GET

from reviews.forms.filled import filled_in
from reviews.forms.template_paper import ResolutionForm
from reviews.notices.template_paper import TooManyPixels, pdf_template, png_template, svg_template
from reviews.pages import pieces
from reviews.pages.plans import get_spread
from reviews.press.flats import Flat
from reviews.press.refused import CannotPrint
from reviews.press.set_up import PieceName
from reviews.queries.access import get_book
from reviews.queries.print_set_ups import print_of
from reviews.rules.states import Refused
from reviews.views.signed_in import SignedInRequest

_TYPES = {"pdf": "application/pdf", "svg": "image/svg+xml", "png": "image/png"}


@require_GET
def template(request: SignedInRequest, spread_id: int, kind: str) -> HttpResponse:
    spread, _ = get_spread(request.user, spread_id)
    if kind not in _TYPES:
        raise Http404
    flat = pieces.flat_for(spread)
    if flat is None:
        raise Refused("template-of-cover")
    return _file(request, flat, kind, pieces.template_title(spread), pieces.template_file_name(spread, kind))


@require_GET
def print_template(request: SignedInRequest, book_id: int, piece: str, kind: str) -> HttpResponse:
    book, _ = get_book(request.user, book_id, thing="geometry")
    if kind not in _TYPES or piece not in set(PieceName):
        raise Http404
    try:
        flat = print_of(book).flats().get(PieceName(piece))
    except CannotPrint as no:
        raise Refused(no.code, **no.values) from no
    if flat is None:
        raise Refused("no-such-piece")
    return _file(request, flat, kind, f"{book.title}, {piece}", pieces.piece_file_name(book, PieceName(piece), kind))


def _file(request: SignedInRequest, flat: Flat, kind: str, title: str, file_name: str) -> HttpResponse:
    if kind == "png":
        body = _picture(flat, filled_in(ResolutionForm(request.GET), "template-ppi")["ppi"])
    elif kind == "svg":
        body = svg_template(flat, title).encode()
    else:
        body = pdf_template(flat, title)
    response = HttpResponse(body, content_type=_TYPES[kind])
    response["Content-Disposition"] = content_disposition_header(True, file_name)
    return response


def _picture(flat: Flat, ppi: int) -> bytes:
    try:
        return png_template(flat, ppi)
    except TooManyPixels as no:
        width, height = no.args
        raise Refused("template-pixels", ppi=ppi, width=width, height=height) from no
