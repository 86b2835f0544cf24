"""The pages of a picture book and the pieces of art that cover them.

Page 1 is a right-hand page and stands alone, as the last page does; between them an opening is an
even left-hand page with the odd page after it. In a self-ended book the first and last page are
pasted to the boards and 2-3 and n-2, n-1 are the endpapers; with separate ends the endpapers are
extra leaves outside the count. (Wendy Watson's and "The Indie Pages" layouts, restated; the first
rule is arithmetic.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from reviews.press.refused import CannotPrint


class PieceKind(StrEnum):
    COVER = "cover"
    ENDS = "ends"
    OPENING = "opening"
    SINGLE = "single"


class Ends(StrEnum):
    SELF = "self"
    SEPARATE = "separate"


class Binding(StrEnum):
    CASE = "case"
    PAPERBACK = "paperback"
    BOARD = "board"


@dataclass(frozen=True)
class Piece:
    """One piece of art; pages are inclusive, None for art outside the page count (cover, separate ends)."""

    kind: PieceKind
    label: str
    first_page: int | None
    last_page: int | None

    @property
    def n_pages_across(self) -> int:
        """Count the page widths the art spans: two for an opening and for endpapers."""
        if self.kind == PieceKind.ENDS:
            return 2
        if self.first_page is None or self.last_page is None:
            return 1
        return self.last_page - self.first_page + 1


def check_page_count(n_pages: int, ends: Ends) -> None:
    """Raise CannotPrint unless a book of ``n_pages`` can be folded and bound."""
    if n_pages < 8 or n_pages > 128:
        raise CannotPrint("page-count")
    if n_pages % 4:
        raise CannotPrint("pages-unfoldable", n_pages=n_pages)
    if ends == Ends.SELF and n_pages < 16:
        raise CannotPrint("ends-too-few-pages")


def lay_out(n_pages: int, ends: Ends) -> list[Piece]:
    """Lay out cover, endpapers, openings and single pages for a page count, in the order of the book."""
    check_page_count(n_pages, ends)
    if ends == Ends.SELF:
        inner = [opening(page) for page in range(4, n_pages - 3, 2)]
        front, back = ends_piece(2, "Front ends"), ends_piece(n_pages - 2, "Back ends")
    else:
        inner = [single(1), *(opening(page) for page in range(2, n_pages - 1, 2)), single(n_pages)]
        front = Piece(PieceKind.ENDS, "Front ends", None, None)
        back = Piece(PieceKind.ENDS, "Back ends", None, None)
    return [Piece(PieceKind.COVER, "Cover", None, None), front, *inner, back]


def opening(first_page: int) -> Piece:
    return Piece(PieceKind.OPENING, f"Pages {first_page}–{first_page + 1}", first_page, first_page + 1)


def single(page: int) -> Piece:
    return Piece(PieceKind.SINGLE, f"Page {page}", page, page)


def ends_piece(first_page: int, name: str) -> Piece:
    return Piece(PieceKind.ENDS, f"{name} {first_page}–{first_page + 1}", first_page, first_page + 1)


def split(piece: Piece) -> tuple[Piece, Piece]:
    """Make two single pages of one opening."""
    if piece.kind != PieceKind.OPENING or piece.first_page is None or piece.last_page is None:
        raise CannotPrint("split-no-opening")
    return single(piece.first_page), single(piece.last_page)


def join(left: Piece, right: Piece, n_pages: int) -> Piece:
    """Make one opening of two neighbouring single pages."""
    if left.kind != PieceKind.SINGLE or right.kind != PieceKind.SINGLE:
        raise CannotPrint("join-no-singles")
    if left.first_page is None or right.first_page != left.first_page + 1:
        raise CannotPrint("join-apart")
    if left.first_page % 2:
        raise CannotPrint("join-right-hand", page=left.first_page)
    if right.first_page >= n_pages:
        raise CannotPrint("join-last-page")
    return opening(left.first_page)


def check_layout(pieces: Sequence[Piece], n_pages: int) -> None:
    """Raise CannotPrint unless every page is covered at most once and every opening really faces."""
    seen: set[int] = set()
    for piece in pieces:
        if piece.first_page is None or piece.last_page is None:
            continue
        if not 1 <= piece.first_page <= piece.last_page <= n_pages:
            raise CannotPrint("piece-outside", label=piece.label, n_pages=n_pages)
        if piece.last_page > piece.first_page and (piece.first_page % 2 or piece.last_page != piece.first_page + 1):
            raise CannotPrint("piece-not-facing", label=piece.label)
        pages = set(range(piece.first_page, piece.last_page + 1))
        if pages & seen:
            raise CannotPrint("page-twice", page=min(pages & seen))
        seen |= pages
