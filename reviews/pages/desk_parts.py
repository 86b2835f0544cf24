"""The desk of somebody with many books, part by part: what matters first, and the rest one press away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from reviews.pages.desk import Ask, Desk
from reviews.pages.shelf import OwnBook

Row = TypeVar("Row")

#: With no more books than this all of it stands on one page.
FEW_BOOKS = 4
#: With more, a page holds so much of each list. Our own choice, and no measurement.
N_MINE, N_OTHERS, N_BOOKS = 8, 5, 8
#: The spreads of so many asks are shown by their pictures, those of later ones by their names.
N_WITH_PICTURES = 3


@dataclass(frozen=True, kw_only=True)
class ListPart(Generic[Row]):
    """A part of a longer list: ``rows`` run from ``first`` to ``last`` of ``total``; ``word`` names it in addresses."""

    word: str
    rows: Sequence[Row]
    first: int
    total: int
    before: int | None
    after: int | None

    @property
    def last(self) -> int:
        return self.first + len(self.rows) - 1


@dataclass(frozen=True, kw_only=True)
class DeskParts:
    mine: ListPart[Ask]
    others: ListPart[Ask]
    books: ListPart[OwnBook]
    is_long: bool
    #: So many asks show pictures of their spreads on a long desk; the others name them.
    n_with_pictures: int = N_WITH_PICTURES


def parts_of(desk: Desk, asked: Mapping[str, str]) -> DeskParts:
    """Cut a desk into what one page shows; ``asked`` names parts as the address has them, an odd one is the first."""
    is_long = len(desk.books) > FEW_BOOKS
    return DeskParts(
        mine=_part("mine", desk.mine, asked, N_MINE if is_long else None),
        others=_part("others", desk.others, asked, N_OTHERS if is_long else None),
        books=_part("books", desk.books, asked, N_BOOKS if is_long else None),
        is_long=is_long,
    )


def _part(word: str, rows: Sequence[Row], asked: Mapping[str, str], size: int | None) -> ListPart[Row]:
    size = size or max(len(rows), 1)
    n_parts = max(1, -(-len(rows) // size))
    named = asked.get(word, "")
    number = int(named) if named.isascii() and named.isdigit() and 0 < len(named) < 6 else 1
    number = number if 1 <= number <= n_parts else 1
    begin = size * (number - 1)
    return ListPart(
        word=word,
        rows=rows[begin : begin + size],
        first=begin + 1,
        total=len(rows),
        before=number - 1 if number > 1 else None,
        after=number + 1 if number < n_parts else None,
    )
