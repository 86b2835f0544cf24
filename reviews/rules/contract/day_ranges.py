"""Days on which one side, or both, are closed or work although it is a public holiday, as ranges of the calendar."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from reviews.rules.states import Refused, Side

#: All ranges of one kind together. No house is closed longer, and a calendar must still have working days.
MOST_RANGE_DAYS = 400
MOST_RANGES = 40


@dataclass(frozen=True)
class DayRange:
    """The days from the first up to and with the last; of one side, or of both (None)."""

    first: date
    last: date
    side: Side | None = None

    @property
    def n_days(self) -> int:
        """Count its days."""
        return (self.last - self.first).days + 1

    @property
    def days(self) -> Iterator[date]:
        """Give its days in order."""
        return (self.first + timedelta(n) for n in range(self.n_days))


def days_of(ranges: Iterable[DayRange], side: Side | None) -> frozenset[date]:
    """Collect the days that concern a side; None collects those of either."""
    return frozenset(day for one in ranges if side is None or one.side in (None, side) for day in one.days)


def check_ranges(ranges: Sequence[DayRange]) -> None:
    """Refuse ranges that run backwards or close more than anybody is closed.

    Raises
    ------
    Refused
        ``range-backwards``, ``too-many-ranges`` or ``range-too-long``.
    """
    if len(ranges) > MOST_RANGES:
        raise Refused("too-many-ranges", most=MOST_RANGES)
    for one in ranges:
        if one.last < one.first:
            raise Refused("range-backwards", first=one.first, last=one.last)
    if sum(one.n_days for one in ranges) > MOST_RANGE_DAYS:
        raise Refused("range-too-long", most=MOST_RANGE_DAYS)


def ranges_text(ranges: Iterable[DayRange]) -> list[dict[str, str]]:
    """Write ranges as plain JSON values; an empty side means both."""
    return [
        {"first": one.first.isoformat(), "last": one.last.isoformat(), "side": one.side.value if one.side else ""}
        for one in ranges
    ]


def ranges_from_text(lines: Iterable[Mapping[str, Any]]) -> tuple[DayRange, ...]:
    """Read ranges back."""
    return tuple(
        DayRange(
            date.fromisoformat(line["first"]),
            date.fromisoformat(line["last"]),
            Side(line["side"]) if line["side"] else None,
        )
        for line in lines
    )
