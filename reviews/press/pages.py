"""The pages of a picture book and the pieces of art that cover them.

Which pages face, stand alone or are pasted down is `page_plan`'s to say, by binding; here each of them becomes a piece
that somebody draws. With separate ends the endpapers are extra leaves outside the count ("The Indie Pages" layout).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from reviews.press.page_plan import BindingKind, EndsKind, PagePlan, page_plan
from reviews.press.refused import CannotPrint

FRONT_ENDS, BACK_ENDS = "Front ends", "Back ends"


class PieceKind(StrEnum):
    COVER = "cover"
    ENDS = "ends"
    OPENING = "opening"
    SINGLE = "single"


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


def lay_out(n_pages: int, binding: BindingKind, ends: EndsKind) -> list[Piece]:
    """Lay out cover, endpapers, openings and single pages in the order of the book.

    Raises CannotPrint where ``n_pages`` cannot be folded or glued so.
    """
    plan = page_plan(n_pages, binding, ends)
    inner = [single(page) for page in plan.singles[:1]]
    inner += [opening(left) for left, _ in plan.openings]
    inner += [single(page) for page in plan.singles[1:]]
    front, back = [], []
    if plan.ends:
        front, back = [ends_piece(plan.ends[0][0], FRONT_ENDS)], [ends_piece(plan.ends[1][0], BACK_ENDS)]
    elif ends == EndsKind.SEPARATE:
        front, back = ([Piece(PieceKind.ENDS, name, None, None)] for name in (FRONT_ENDS, BACK_ENDS))
    return [Piece(PieceKind.COVER, "Cover", None, None), *front, *inner, *back]


def first_is_left(binding: BindingKind, ends: EndsKind) -> bool:
    """Say whether page 1 is a left-hand page, on the back of the cover, as in a book glued from boards.

    A board book with endpapers was laid out like a folded one, before boards were told apart from paper.
    """
    return binding == BindingKind.BOARD and ends == EndsKind.NONE


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


def join(left: Piece, right: Piece, n_pages: int, *, first_is_left: bool = False) -> Piece:
    """Make one opening of two single pages that face each other."""
    if left.kind != PieceKind.SINGLE or right.kind != PieceKind.SINGLE:
        raise CannotPrint("join-no-singles")
    if left.first_page is None or right.first_page != left.first_page + 1:
        raise CannotPrint("join-apart")
    if left.first_page % 2 != first_is_left:
        raise CannotPrint("join-right-hand", page=left.first_page)
    if right.first_page >= n_pages + first_is_left:
        raise CannotPrint("join-last-page")
    return opening(left.first_page)


def check_layout(pieces: Sequence[Piece], n_pages: int, *, first_is_left: bool = False) -> None:
    """Raise CannotPrint unless every page is covered at most once and every opening really faces."""
    seen: set[int] = set()
    for piece in pieces:
        if piece.first_page is None or piece.last_page is None:
            continue
        if not 1 <= piece.first_page <= piece.last_page <= n_pages:
            raise CannotPrint("piece-outside", label=piece.label, n_pages=n_pages)
        is_facing = piece.first_page % 2 == first_is_left and piece.last_page == piece.first_page + 1
        if piece.last_page > piece.first_page and not is_facing:
            raise CannotPrint("piece-not-facing", label=piece.label)
        pages = set(range(piece.first_page, piece.last_page + 1))
        if pages & seen:
            raise CannotPrint("page-twice", page=min(pages & seen))
        seen |= pages


def free_places(plan: PagePlan, pieces: Iterable[Piece]) -> list[Piece]:
    """List the places for art that no piece covers, in page order: free openings, and single pages where one is free.

    Pasted-down pages and endpapers are no places; the cover and separate ends are outside the count.
    """
    taken: set[int] = set()
    for piece in pieces:
        if piece.first_page is not None and piece.last_page is not None:
            taken |= set(range(piece.first_page, piece.last_page + 1))
    found: list[Piece] = []
    for left, right in plan.openings:
        free = [page for page in (left, right) if page not in taken]
        found += [opening(left)] if len(free) == 2 else []
        found += [single(page) for page in free]
    found += [single(page) for page in plan.singles if page not in taken]
    return sorted(found, key=lambda piece: (piece.first_page or 0, -piece.n_pages_across))
