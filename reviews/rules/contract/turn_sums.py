"""Days of several turns together: by side, and by person."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from reviews.rules.contract.turn import Part, Turn
from reviews.rules.states import Side


@dataclass(frozen=True)
class PersonDays:
    """Working days of one person, and the ledger lines between which they lie."""

    working: int
    entries: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class DaySum:
    """Days of several turns together, and the days that the terms allow a side for them.

    `paused` are those that would have been worked, had both sides not agreed that the work rests.

    `both` are days of handing over that the terms count for either side: they are in both sums.
    """

    illustrator: int = 0
    publisher: int = 0
    weekend: int = 0
    holiday: int = 0
    paused: int = 0
    both: int = 0
    illustrator_late: int = 0
    publisher_late: int = 0
    illustrator_allowed: int = 0
    publisher_allowed: int = 0
    illustrator_forgiven: int = 0
    publisher_forgiven: int = 0
    entries: tuple[int, ...] = ()

    @property
    def calendar_days(self) -> int:
        """Add everything up: it is the number of dates in the turns."""
        return self.illustrator + self.publisher - self.both + self.weekend + self.holiday + self.paused


def add_up(turns: Iterable[Turn]) -> DaySum:
    """Add the days of turns; nothing is counted twice unless two passages ran side by side."""
    illustrator = publisher = weekend = holiday = paused = both = late_i = late_p = allowed_i = allowed_p = 0
    forgiven_i = forgiven_p = 0
    entries: list[int] = []
    for turn in turns:
        weekend += turn.weekend
        holiday += turn.holiday
        paused += turn.paused
        both += turn.both
        entries += turn.entries
        if turn.side == Side.ILLUSTRATOR:
            illustrator += turn.working
            # Its date is the one of the turn it goes on with, whose late days are in the sum already.
            late_i += min(turn.late, turn.working - turn.both) if turn.resumes else turn.late
            allowed_i += 0 if turn.resumes else turn.allowed or 0
            forgiven_i += turn.forgiven
        else:
            publisher += turn.working
            late_p += turn.late
            allowed_p += turn.allowed or 0
            forgiven_p += turn.forgiven
    lines = tuple(sorted(set(entries)))
    return DaySum(
        illustrator=illustrator,
        publisher=publisher,
        weekend=weekend,
        holiday=holiday,
        paused=paused,
        both=both,
        illustrator_late=late_i,
        publisher_late=late_p,
        illustrator_allowed=allowed_i,
        publisher_allowed=allowed_p,
        illustrator_forgiven=forgiven_i,
        publisher_forgiven=forgiven_p,
        entries=lines,
    )


def add_sums(sums: Iterable[DaySum]) -> DaySum:
    """Add up what was added up before."""
    found = list(sums)
    return DaySum(
        illustrator=sum(one.illustrator for one in found),
        publisher=sum(one.publisher for one in found),
        weekend=sum(one.weekend for one in found),
        holiday=sum(one.holiday for one in found),
        paused=sum(one.paused for one in found),
        both=sum(one.both for one in found),
        illustrator_late=sum(one.illustrator_late for one in found),
        publisher_late=sum(one.publisher_late for one in found),
        illustrator_allowed=sum(one.illustrator_allowed for one in found),
        publisher_allowed=sum(one.publisher_allowed for one in found),
        illustrator_forgiven=sum(one.illustrator_forgiven for one in found),
        publisher_forgiven=sum(one.publisher_forgiven for one in found),
        entries=tuple(sorted({seq for one in found for seq in one.entries})),
    )


def by_person(turns: Iterable[Turn]) -> dict[tuple[str, str], PersonDays]:
    """Add working days up by role and name; turns that nobody has ended are under the role with no name."""
    parts: dict[tuple[str, str], list[Part]] = {}
    for turn in turns:
        for part in turn.parts:
            parts.setdefault((part.role, part.by), []).append(part)
    return {
        key: PersonDays(
            sum(part.working for part in theirs), tuple(sorted({seq for part in theirs for seq in part.entries}))
        )
        for key, theirs in parts.items()
    }
