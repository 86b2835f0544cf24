"""The names of a book's ledger lines for one reader, and the code of the line at which the ledger stands."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from reviews.models import LedgerEntry
from reviews.rules import permits
from reviews.rules.codes import Stand, code_of
from reviews.rules.line_names import name_lines
from reviews.rules.states import Role, Sight

_CITING = frozenset({"entry", "entries", "included_by"})


def names_of(book_id: int, role: Role, *, until: datetime | None = None) -> dict[int, str]:
    """Name the lines that a role may read, by their place in the chain (1 query)."""
    rows = LedgerEntry.objects.filter(book_id=book_id)
    if until is not None:
        rows = rows.filter(at__lte=until)
    lines = rows.order_by("seq").values_list("seq", "sight")
    return name_lines(lines.iterator(), permits.sights_of(role))


def stand_of(entry: LedgerEntry) -> Stand:
    """Say where the ledger stands with this entry, which both sides read (1 query)."""
    shared = LedgerEntry.objects.filter(book_id=entry.book_id, sight=Sight.ALL, seq__lte=entry.seq)
    return Stand(str(shared.count()), code_of(entry.sha256))


def last_stand(book_id: int, names: dict[int, str]) -> Stand | None:
    """Say where the ledger stands with the last of the named lines that both sides read (1 query)."""
    places = [place for place, name in names.items() if "." not in name]
    if not places:
        return None
    sha256 = LedgerEntry.objects.values_list("sha256", flat=True).get(book_id=book_id, seq=places[-1])
    return Stand(names[places[-1]], code_of(sha256))


def named(entries: Iterable[int], names: dict[int, str]) -> list[str]:
    """Name the lines behind a figure; those that the reader may not read are left out."""
    return [names[place] for place in entries if place in names]


def with_names(value: Any, names: dict[int, str]) -> Any:
    """Put names in the place of entries, wherever figures written as plain values cite them."""
    if isinstance(value, list):
        return [with_names(each, names) for each in value]
    if not isinstance(value, dict):
        return value
    return {key: _cited(each, names) if key in _CITING else with_names(each, names) for key, each in value.items()}


def _cited(value: Any, names: dict[int, str]) -> Any:
    if isinstance(value, list):
        return [_as_number(name) for name in named(value, names)]
    return _as_number(names[value]) if value in names else None


def _as_number(name: str) -> int | str:
    """Write a shared line's name as the number it is; 87.2 stays a name, since as a number it would be 87.20 too."""
    return name if "." in name else int(name)
