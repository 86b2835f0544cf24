"""Hold every row that a person may rely on against what the ledger's entries hold of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from reviews.models import Book, LedgerEntry
from reviews.queries.held_rows import KINDS, Kind, Row, plain

#: Longer words are shortened where a difference is named; enough is left to find them by.
MOST_SHOWN = 80


@dataclass
class HeldCheck:
    """What came of it: the faults, how many rows were compared, and how many are older than what the ledger holds."""

    faults: list[str] = field(default_factory=list)
    compared: Counter[str] = field(default_factory=Counter)
    unheld: Counter[str] = field(default_factory=Counter)
    holds_from: int = 1

    @property
    def holds_all(self) -> bool:
        """Say whether every entry holds what its deed wrote, from the first one on."""
        return self.holds_from == 1 and not self.unheld


@dataclass(frozen=True)
class _Told:
    seq: int
    row: Row | None


def check_held(book: Book) -> HeldCheck:
    """Compare all rows of a book with the newest entry that holds each (1 query for each kind, and 1)."""
    told: dict[tuple[str, int], _Told] = {}
    holds_from: tuple[int, datetime] | None = None
    entries = LedgerEntry.objects.filter(book=book).order_by("seq").values_list("seq", "at", "rows")
    for seq, at, rows in entries.iterator(chunk_size=500):
        if rows is None:
            continue
        holds_from = holds_from or (seq, at)
        for name, held in rows["held"].items():
            told.update({(name, int(number)): _Told(seq, row) for number, row in held.items()})
    check = HeldCheck(holds_from=holds_from[0] if holds_from else 0)
    for name, kind in KINDS.items():
        _compare(check, book, name, kind, told, holds_from)
    for (name, number), one in told.items():
        if one.row is not None:
            check.faults.append(f"{name.capitalize()} {number} is gone; entry {one.seq} holds it.")
    return check


def _compare(
    check: HeldCheck,
    book: Book,
    name: str,
    kind: Kind,
    told: dict[tuple[str, int], _Told],
    holds_from: tuple[int, datetime] | None,
) -> None:
    made = [kind.made] if kind.made and kind.made not in kind.columns else []
    rows = kind.model._default_manager.filter(**{kind.book: book.pk})
    for row in rows.values("pk", *kind.columns, *made).order_by("pk").iterator(chunk_size=500):
        number, since = row.pop("pk"), row.get(kind.made) if kind.made else None
        one = told.pop((name, number), None)
        stored = plain({column: row[column] for column in kind.columns})
        if one is not None and one.row is not None:
            check.compared[name] += 1
            check.faults += [f"{name.capitalize()} {number}: {words}" for words in _differences(one, stored)]
        elif one is not None:
            check.faults.append(f"{name.capitalize()} {number} is there again; entry {one.seq} removed it.")
        elif kind.about is not None and not kind.model._default_manager.filter(kind.about, pk=number).exists():
            continue
        elif holds_from is None or (holds_from[0] > 1 and (since is None or since < holds_from[1])):
            check.unheld[name] += 1
        else:
            check.faults.append(f"{name.capitalize()} {number} stands in the rows, and no entry holds it.")


def _differences(told: _Told, stored: Row) -> Iterator[str]:
    for column, value in (told.row or {}).items():
        # A column that an entry of an older form held and that is held no more has nothing to be compared with.
        if column in stored and stored[column] != value:
            what = column.removesuffix("_id").replace("_", " ")
            yield f"{what} is {_shown(stored[column])}, and entry {told.seq} of the ledger says {_shown(value)}."


def _shown(value: Any) -> str:
    if value is None or value == "":
        return "empty"
    text = f"“{value}”" if isinstance(value, str) else str(value)
    return text if len(text) <= MOST_SHOWN else f"{text[:MOST_SHOWN]}…”"
