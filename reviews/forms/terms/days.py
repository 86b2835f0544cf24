"""Days on which a side is closed, or works although it is a holiday, as rows of from and until."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms

from reviews.forms.terms.fields import TableRow, date_field
from reviews.rules.contract.day_ranges import MOST_RANGES
from reviews.rules.states import Side

_CLOSED, _WORKED = "closures", "worked"

#: Rows left empty below those that are filled.
_SPARE = 4


class DayRangeRow(TableRow):
    """One range; a row without a first day is not in the terms."""

    first = date_field("From", required=False)
    last = date_field("Until", required=False)
    side = forms.ChoiceField(
        label="Whose",
        required=False,
        choices=(
            ("", "Both sides’"),
            (Side.ILLUSTRATOR.value, "The illustrator’s"),
            (Side.PUBLISHER.value, "The publisher’s"),
        ),
    )
    kind = forms.ChoiceField(
        label="Closed or worked",
        required=False,
        choices=((_CLOSED, "Closed"), (_WORKED, "Worked although a holiday")),
    )

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        if given.get("last") and not given.get("first") and "first" not in self.errors:
            self.add_error("first", "The first day is missing here.")
        return given


class DayRows:
    """All ranges in the terms, and a few empty rows."""

    def __init__(self, data: Mapping[str, Any] | None, text: Mapping[str, Any]) -> None:
        filled = [line | {"kind": kind} for kind in (_CLOSED, _WORKED) for line in text.get(kind, ())]
        n_rows = len(filled) + _SPARE if data is None else _n_posted(data)
        initials = [*filled, *([None] * n_rows)][:n_rows]
        self.rows = [
            DayRangeRow(data, prefix=f"days-{n}", title=f"Days {n + 1}", initial=initial)
            for n, initial in enumerate(initials)
        ]

    def __iter__(self) -> Iterator[DayRangeRow]:
        return iter(self.rows)

    @property
    def is_used(self) -> bool:
        """Say whether any range is filled in."""
        return any(row["first"].value() or row["last"].value() for row in self.rows)

    def text(self) -> dict[str, Any]:
        """Write what was given as the text of terms; a row without a last day is that day alone."""
        found: dict[str, list[dict[str, str]]] = {_CLOSED: [], _WORKED: []}
        for row in self.rows:
            given = row.cleaned_data
            if given["first"]:
                last = given["last"] or given["first"]
                line = {"first": given["first"].isoformat(), "last": last.isoformat(), "side": given["side"]}
                found[given["kind"] or _CLOSED].append(line)
        return found


def _n_posted(data: Mapping[str, Any]) -> int:
    """Count the rows that were posted, whichever of their fields came."""
    numbers = [name.split("-")[1] for name in data if name.startswith("days-") and name.count("-") == 2]
    return min(MOST_RANGES * 2, 1 + max((int(n) for n in numbers if n.isdecimal()), default=-1))
