"""Pieces of art that are dropped, added or brought back, and another number of pages: what lies where afterwards.

Dropping a piece leaves its pages free; nothing else moves. A piece is added to free pages, or brought back to them.
Another number of pages keeps what lies within it, moves what the binding puts at the end, and drops what does not fit
any more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from reviews.press.page_plan import BindingKind, EndsKind, PagePlan, page_plan
from reviews.press.pages import Piece, PieceKind, ends_piece, free_places, opening, single
from reviews.press.refused import CannotPrint
from reviews.rules.repagination import MOVABLE, Slot
from reviews.rules.states import Refused


class PageDeed(StrEnum):
    """What is asked of a book's pages."""

    DROP = "drop"
    ADD = "add"
    BACK = "back"
    COUNT = "count"


@dataclass(frozen=True, kw_only=True)
class WantedPages:
    """What is asked: a piece by its number, the pages it goes to, or a number of pages."""

    what: PageDeed
    spread: int | None = None
    first_page: int | None = None
    last_page: int | None = None
    n_pages: int | None = None


@dataclass(frozen=True)
class LaidPiece:
    """A piece of the book by its number, as it lies or, if it was dropped, as it lay."""

    spread: int
    piece: Piece
    position: int

    @property
    def slot(self) -> Slot:
        return Slot(self.position, self.piece.label, self.piece.first_page, self.piece.last_page)


@dataclass(frozen=True)
class BoundBook:
    """What says which pages there are."""

    n_pages: int
    binding: BindingKind
    ends: EndsKind

    def plan(self) -> PagePlan:
        """Plan its pages; refuses what cannot be folded, with the printed object's reason."""
        try:
            return page_plan(self.n_pages, self.binding, self.ends)
        except CannotPrint as no:
            raise Refused(no.code, **no.values) from no


@dataclass(frozen=True, kw_only=True)
class PageChange:
    """What comes of it.

    drops, backs   pieces by number
    adds           new pieces with the position each gets
    slots          where every piece lies that lies elsewhere now or was brought back
    """

    n_pages: int
    drops: tuple[int, ...] = ()
    backs: tuple[int, ...] = ()
    adds: tuple[tuple[Piece, int], ...] = ()
    slots: Mapping[int, Slot]

    def as_text(self) -> dict[str, Any]:
        """Write it so that it can be kept and held against what would come of the same wish later."""
        return {
            "n_pages": self.n_pages,
            "drops": list(self.drops),
            "backs": list(self.backs),
            "adds": [[piece.first_page, piece.last_page] for piece, _ in self.adds],
            "slots": {
                str(number): [slot.label, slot.first_page, slot.last_page]
                for number, slot in sorted(self.slots.items())
            },
        }


def wanted_as_text(wanted: WantedPages) -> dict[str, Any]:
    """Write what is asked as plain JSON values."""
    return {name: value for name, value in vars(wanted).items() if value is not None} | {"what": wanted.what.value}


def wanted_from_text(text: Mapping[str, Any]) -> WantedPages:
    """Read what `wanted_as_text` wrote."""
    return WantedPages(**{**text, "what": PageDeed(text["what"])})


def change_of(
    wanted: WantedPages, live: Sequence[LaidPiece], dropped: Sequence[LaidPiece], book: BoundBook
) -> PageChange:
    """Say what comes of a wish; ``live`` are the pieces that lie in the book, in its order.

    Raises
    ------
    Refused
        ``pages-elsewhere`` for a piece that is not there to be dropped or brought back, ``drop-fixed`` for the cover or
        endpapers, ``drop-last`` for the only piece inside, ``page-taken`` where the pages are not free,
        ``back-shape`` where they are of another shape, ``pages-same`` for the number there is, or what the printed
        object says of a number of pages.
    """
    return _CHANGES[wanted.what](wanted, live, dropped, book)


def _drop(wanted: WantedPages, live: Sequence[LaidPiece], dropped: Sequence[LaidPiece], book: BoundBook) -> PageChange:
    gone = next((one for one in live if one.spread == wanted.spread), None)
    if gone is None:
        raise Refused("pages-elsewhere")
    if gone.piece.kind not in MOVABLE:
        raise Refused("drop-fixed")
    if sum(one.piece.kind in MOVABLE for one in live) == 1:
        raise Refused("drop-last")
    left = [one for one in live if one is not gone]
    return PageChange(n_pages=book.n_pages, drops=(gone.spread,), slots=_moved(_in_order(left), live))


def _add(wanted: WantedPages, live: Sequence[LaidPiece], dropped: Sequence[LaidPiece], book: BoundBook) -> PageChange:
    place = _free_place(wanted, live, book)
    row = _in_order([*live, LaidPiece(_NEW, place, 0)])
    position = next(one.position for one in row if one.spread == _NEW)
    return PageChange(n_pages=book.n_pages, adds=((place, position),), slots=_moved(row, live))


def _back(wanted: WantedPages, live: Sequence[LaidPiece], dropped: Sequence[LaidPiece], book: BoundBook) -> PageChange:
    back = next((one for one in dropped if one.spread == wanted.spread), None)
    if back is None:
        raise Refused("pages-elsewhere")
    place = _free_place(wanted, live, book)
    if place.kind != back.piece.kind:
        raise Refused("back-shape")
    row = _in_order([*live, replace(back, piece=place)])
    slots = _moved(row, live) | {one.spread: one.slot for one in row if one.spread == back.spread}
    return PageChange(n_pages=book.n_pages, backs=(back.spread,), slots=slots)


def _count(wanted: WantedPages, live: Sequence[LaidPiece], dropped: Sequence[LaidPiece], book: BoundBook) -> PageChange:
    before = book.plan()
    if wanted.n_pages == book.n_pages:
        raise Refused("pages-same", n=book.n_pages)
    after = replace(book, n_pages=wanted.n_pages or 0).plan()
    placed = [(one, _placed(one.piece, before, after)) for one in live]
    kept = [replace(one, piece=piece) for one, piece in placed if piece is not None]
    gone = [one.spread for one, piece in placed if piece is None]
    taken = {one.piece.first_page for one in kept}
    fresh = [pair for pair in after.openings if pair not in before.openings and not set(pair) & taken]
    row = _in_order([*kept, *(LaidPiece(_NEW, opening(left), 0) for left, _ in fresh)])
    return PageChange(
        n_pages=after.n_pages,
        drops=tuple(gone),
        adds=tuple((one.piece, one.position) for one in row if one.spread == _NEW),
        slots=_moved([one for one in row if one.spread != _NEW], live),
    )


_CHANGES = {PageDeed.DROP: _drop, PageDeed.ADD: _add, PageDeed.BACK: _back, PageDeed.COUNT: _count}
#: The number of a piece that has none yet.
_NEW = 0


def _free_place(wanted: WantedPages, live: Iterable[LaidPiece], book: BoundBook) -> Piece:
    free = free_places(book.plan(), [one.piece for one in live])
    for place in free:
        if (place.first_page, place.last_page) == (wanted.first_page, wanted.last_page):
            return place
    raise Refused("page-taken")


def _placed(piece: Piece, before: PagePlan, after: PagePlan) -> Piece | None:
    """Say where a piece lies in a book of another number of pages; None where it does not fit any more."""
    if piece.first_page is None or piece.last_page is None:
        return piece
    pages = (piece.first_page, piece.last_page)
    if piece.kind == PieceKind.ENDS:
        name = piece.label.rpartition(" ")[0]
        return piece if pages == before.ends[0] else ends_piece(after.ends[1][0], name)
    if pages[0] == pages[1] and pages[0] in before.singles[1:]:
        # The last page, which stands alone, is the last page of the new book.
        return single(after.singles[-1])
    inside = {page for pair in after.openings for page in pair} | set(after.singles[:1])
    return piece if set(pages) <= inside else None


def _in_order(pieces: Iterable[LaidPiece]) -> list[LaidPiece]:
    """Number pieces anew as the book reads; those without pages keep to the front or the back, where they lie."""
    found = list(pieces)
    paged = sorted(
        (one for one in found if one.piece.first_page is not None), key=lambda one: one.piece.first_page or 0
    )
    others = sorted((one for one in found if one.piece.first_page is None), key=lambda one: one.position)
    first = min((one.position for one in paged if one.position), default=0)
    front = [one for one in others if one.position < first or not paged]
    behind = [one for one in others if one not in front]
    return [replace(one, position=n) for n, one in enumerate((*front, *paged, *behind), start=1)]


def _moved(row: Iterable[LaidPiece], live: Iterable[LaidPiece]) -> dict[int, Slot]:
    before = {one.spread: one.slot for one in live}
    return {one.spread: one.slot for one in row if one.spread in before and one.slot != before[one.spread]}
