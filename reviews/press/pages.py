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


class PieceKind(StrEnum):
    COVER = "cover"
    ENDS = "ends"
    OPENING = "opening"
    SINGLE = "single"


class Ends(StrEnum):
    SELF = "self"
    SEPARATE = "separate"


ENDS_WORDS = {Ends.SELF: "Self-ended", Ends.SEPARATE: "Separate endpapers"}


class Binding(StrEnum):
    CASE = "case"
    PAPERBACK = "paperback"
    BOARD = "board"


BINDING_WORDS = {Binding.CASE: "Case bound", Binding.PAPERBACK: "Paperback", Binding.BOARD: "Board book"}


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


class BadPages(ValueError):
    """The page layout cannot exist; the message is a sentence for the person."""


def check_page_count(n_pages: int, ends: Ends) -> None:
    """Raise BadPages unless a book of ``n_pages`` can be folded and bound."""
    if n_pages < 8 or n_pages > 128:
        raise BadPages("A picture book has between 8 and 128 pages. Enter a page count in that range.")
    if n_pages % 4:
        raise BadPages(f"{n_pages} pages cannot be folded from sheets: choose a multiple of 4 (24, 32, 40, 48).")
    if ends == Ends.SELF and n_pages < 16:
        raise BadPages("A self-ended book gives six pages to its ends: choose 16 pages or more, or separate endpapers.")


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
        raise BadPages("Only an opening of two pages can be split into single pages.")
    return single(piece.first_page), single(piece.last_page)


def join(left: Piece, right: Piece, n_pages: int) -> Piece:
    """Make one opening of two neighbouring single pages."""
    if left.kind != PieceKind.SINGLE or right.kind != PieceKind.SINGLE:
        raise BadPages("Only two single pages can be joined into an opening.")
    if left.first_page is None or right.first_page != left.first_page + 1:
        raise BadPages("These two pages do not follow each other.")
    if left.first_page % 2:
        raise BadPages(f"Page {left.first_page} is a right-hand page: an opening starts on an even, left-hand page.")
    if right.first_page >= n_pages:
        raise BadPages("The last page stands alone; it faces the end of the book.")
    return opening(left.first_page)


def check_layout(pieces: Sequence[Piece], n_pages: int) -> None:
    """Raise BadPages unless every page is covered at most once and every opening really faces."""
    seen: set[int] = set()
    for piece in pieces:
        if piece.first_page is None or piece.last_page is None:
            continue
        if not 1 <= piece.first_page <= piece.last_page <= n_pages:
            raise BadPages(f"{piece.label} lies outside the book's {n_pages} pages.")
        if piece.last_page > piece.first_page and (piece.first_page % 2 or piece.last_page != piece.first_page + 1):
            raise BadPages(f"{piece.label}: an opening is an even page with the odd page after it.")
        pages = set(range(piece.first_page, piece.last_page + 1))
        if pages & seen:
            raise BadPages(f"Page {min(pages & seen)} is covered twice.")
        seen |= pages
