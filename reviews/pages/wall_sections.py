"""Which folded section of the book each opening on the wall lies in."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _

from reviews.models import Book
from reviews.pages.book_map import Opening
from reviews.press.page_plan import BindingKind, EndsKind, FoldedSection, page_plan
from reviews.press.pages import PieceKind
from reviews.press.refused import CannotPrint


def section_names(book: Book, openings: Sequence[Opening]) -> list[str]:
    """Name the group of each opening; a section is told by the page at which an opening begins.

    Its right-hand page may already lie in the next one. Books glued from boards, and those whose pages cannot be
    folded, have no sections: their pages are one group.
    """
    sections = _folded(book)
    return [_name(opening, sections) for opening in openings]


def _folded(book: Book) -> tuple[FoldedSection, ...]:
    try:
        return page_plan(book.n_pages, BindingKind(book.binding), EndsKind(book.ends)).sections
    except CannotPrint:
        return ()


def _name(opening: Opening, sections: Sequence[FoldedSection]) -> str:
    first = opening.pieces[0] if opening.pieces else None
    if first is not None and first.kind == PieceKind.COVER:
        return _("Cover")
    page = first.first_page if first is not None else opening.free_page
    if page is None:
        return _("Ends")
    for number, section in enumerate(sections, 1):
        last = section.first + section.n_pages - 1
        if section.first <= page <= last:
            return _("Section {n}, pages {first}–{last}").format(n=number, first=section.first, last=last)
    return _("Pages")
