"""The books at the side of the desk."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from reviews.models import Book, Passage, Seat
from reviews.pages.book_map import current_passage, is_begun
from reviews.press.pages import PieceKind
from reviews.queries.thumbnails import Newest
from reviews.rules import permits
from reviews.rules.addresses import PAGES
from reviews.rules.states import PassageState, Role

_DONE = frozenset({PassageState.APPROVED, PassageState.PASSED})
_WAYS = (("book-map", "Book map"), ("letters", "Letters"), ("schedule", "Schedule"), ("account", "Account"))

_Spreads = Mapping[int, Sequence[Passage]]


@dataclass(frozen=True, kw_only=True)
class OwnBook:
    """A book at the side of the desk."""

    book: Book
    seat: Seat
    picture: Newest | None
    n_spreads: int
    n_done: int
    n_late: int
    #: Nothing of it is handed in yet, seen or not.
    is_bare: bool
    ways: list[tuple[str, str]]


def shelf_of(
    seats: Iterable[Seat], passages: Iterable[Passage], late: Collection[int], pictures: Mapping[int, Newest]
) -> list[OwnBook]:
    """Put the books of these seats at the side, of whose pages they see one (no query, and one look at each passage).

    ``late``: the passages that are late; ``pictures``: the newest of each spread.
    """
    books: dict[int, dict[int, list[Passage]]] = {}
    for passage in passages:
        books.setdefault(passage.book_id, {}).setdefault(passage.spread_id, []).append(passage)
    return [
        _own_book(seat, books.get(seat.book_id, {}), late, pictures)
        for seat in seats
        if permits.sees(Role(seat.role), "book")
    ]


def _own_book(seat: Seat, rows: _Spreads, late: Collection[int], pictures: Mapping[int, Newest]) -> OwnBook:
    cover = next((spread for spread, row in rows.items() if row[0].spread.kind == PieceKind.COVER), None)
    return OwnBook(
        book=seat.book,
        seat=seat,
        picture=pictures.get(cover) if cover else None,
        n_spreads=len(rows),
        n_done=sum(all(passage.state in _DONE for passage in row) for row in rows.values()),
        n_late=sum(current_passage(row).pk in late for row in rows.values()),
        is_bare=not is_begun(passage for row in rows.values() for passage in row),
        ways=[(f"reviews:{name}", label) for name, label in _WAYS if permits.sees(Role(seat.role), PAGES[name])],
    )
