"""The piece of paper a spread becomes: its size, and its template to draw on."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse
from django.utils.text import slugify

from reviews.models import Book, Passage, Spread
from reviews.pages.wording.pieces import size_words
from reviews.press.flats import Flat
from reviews.press.pages import PieceKind
from reviews.press.refused import CannotPrint
from reviews.press.set_up import PieceName
from reviews.queries.print_set_ups import print_of

TEMPLATE_KINDS = ("pdf", "svg", "png")
_LONGEST_NAME = 60


@dataclass(frozen=True)
class PieceAsked:
    """What a draft page says of the piece that its pictures are for; ``templates`` by the name of their kind."""

    size: str
    templates: dict[str, str]


def flat_for(spread: Spread) -> Flat | None:
    """Lay a spread flat by its book's print set-up; needs ``book`` joined with it.

    None for a cover while nobody has told the paper: its size needs the spine.
    """
    try:
        return print_of(spread.book).flats().get(_piece_name(spread))
    except CannotPrint:
        return None


def _piece_name(spread: Spread) -> PieceName:
    if spread.kind == PieceKind.COVER:
        return PieceName.COVER
    return PieceName.SPREAD if spread.as_piece().n_pages_across == 2 else PieceName.PAGE


def template_title(spread: Spread) -> str:
    """Name a template inside its file; needs ``book`` joined."""
    return f"{spread.book.title}, {spread.label}"


def template_file_name(spread: Spread, kind: str) -> str:
    """Name a template's file by book and pages, in letters that every disk takes; needs ``book`` joined."""
    pages = dict.fromkeys(page for page in (spread.first_page, spread.last_page) if page is not None)
    numbers = "-".join(str(page) for page in pages)
    piece = f"pages-{numbers}" if len(pages) > 1 else f"page-{numbers}" if pages else slugify(spread.label)
    title = slugify(spread.book.title)[:_LONGEST_NAME].strip("-")
    return f"{title or f'book-{spread.book_id}'}-{piece or spread.pk}-template.{kind}"


def piece_file_name(book: Book, name: PieceName, kind: str) -> str:
    """Name the file of a piece's template by the book, in letters that every disk takes."""
    title = slugify(book.title)[:_LONGEST_NAME].strip("-")
    return f"{title or f'book-{book.pk}'}-{name}-template.{kind}"


def piece_asked(passage: Passage) -> PieceAsked | None:
    """Say which size is asked for, where it is known; needs book, spread and stage joined (no query)."""
    flat = _flat_of(passage)
    if flat is None:
        return None
    templates = {kind.upper(): reverse("reviews:template", args=[passage.spread_id, kind]) for kind in TEMPLATE_KINDS}
    return PieceAsked(size_words(flat), templates)


def _flat_of(passage: Passage) -> Flat | None:
    spread: Spread = passage.spread
    book: Book = passage.book
    spread.book = book
    return flat_for(spread)
