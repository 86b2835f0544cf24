"""Hold every row that a person may rely on against what the ledger's entries hold of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime

from reviews.models import Book, LedgerEntry
from reviews.queries.held_rows import KINDS, Kind, Row, plain
from reviews.rules.faults import LedgerFault


@dataclass
class HeldCheck:
    """What came of it: the faults, how many rows were compared, and how many are older than what the ledger holds."""

    faults: list[LedgerFault] = field(default_factory=list)
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
            check.faults.append(LedgerFault("row-gone", kind=name, number=number, seq=one.seq))
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
            check.faults += _differences(name, number, one, stored)
        elif one is not None:
            check.faults.append(LedgerFault("row-there-again", kind=name, number=number, seq=one.seq))
        elif kind.about is not None and not kind.model._default_manager.filter(kind.about, pk=number).exists():
            continue
        elif holds_from is None or (holds_from[0] > 1 and (since is None or since < holds_from[1])):
            check.unheld[name] += 1
        else:
            check.faults.append(LedgerFault("row-unheld", kind=name, number=number))


def _differences(name: str, number: int, told: _Told, stored: Row) -> Iterator[LedgerFault]:
    for column, value in (told.row or {}).items():
        # A column that an entry of an older form held and that is held no more has nothing to be compared with.
        if column in stored and stored[column] != value:
            yield LedgerFault(
                "row-differs",
                kind=name,
                number=number,
                column=column.removesuffix("_id").replace("_", " "),
                seq=told.seq,
                stored_value=stored[column],
                held_value=value,
            )
