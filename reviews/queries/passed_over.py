"""Which stages of a book's spreads were passed over."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reviews.models import Book, Passage
from reviews.rules.passed_over import are_passed_over
from reviews.rules.states import PassageState


def passed_over_of(book: Book) -> list[Passage]:
    """List the stages that were passed over on spreads of a book, in page order (1 query)."""
    rows = Passage.objects.live().with_places().filter(book=book).order_by("spread__position", "stage__position")
    return passed_over_among(rows)


def passed_over_among(rows: Iterable[Passage]) -> list[Passage]:
    """Pick out those that were passed over; the passages of each spread must come in the plan's order (no query)."""
    by_spread: dict[int, list[Passage]] = {}
    for row in rows:
        by_spread.setdefault(row.spread_id, []).append(row)
    return [one for own in by_spread.values() for one in _of_spread(own)]


def _of_spread(row: Sequence[Passage]) -> list[Passage]:
    told = are_passed_over([PassageState(passage.state) for passage in row])
    return [passage for passage, is_over in zip(row, told, strict=True) if is_over]
