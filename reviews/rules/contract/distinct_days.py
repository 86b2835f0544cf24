"""Distinct days of the calendar: what a book took, whatever number of spreads ran side by side.

Days of turns add up by spread: a letter on seventeen spreads that waits a day costs seventeen of them, the book one.
Here each date is counted once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from reviews.rules.contract.calendars import Calendar
from reviews.rules.contract.terms import TermsHistory
from reviews.rules.contract.turn import Turn
from reviews.rules.states import Side


@dataclass(frozen=True, kw_only=True)
class DistinctDays:
    """Every date from the first day of work to the day of reckoning, in exactly one of five sorts.

    drawing     working days on which the illustrator held something, and the publisher nothing
    answering   working days on which the publisher held something, and the illustrator nothing
    both        working days on which each held something
    nobody      weekends, holidays, and days on which nothing waited
    paused      days of a pause on which somebody would have worked at something: nobody's too
    illustrator_late, publisher_late   days on which something of theirs was late: within those above, each once
    """

    drawing: int = 0
    answering: int = 0
    both: int = 0
    nobody: int = 0
    paused: int = 0
    illustrator_late: int = 0
    publisher_late: int = 0

    @property
    def working(self) -> int:
        """Count the working days on which something waited."""
        return self.drawing + self.answering + self.both

    @property
    def calendar_days(self) -> int:
        """Add everything up: it is the number of dates."""
        return self.working + self.nobody + self.paused


#: From a day on, until a day, both counted, as ordinals.
_Span = tuple[int, int]


def count_dates(turns: Iterable[Turn], terms: TermsHistory) -> DistinctDays:
    """Count each date of these turns once, by the calendar of the side that held something on it."""
    versions = {version.version: version for version in terms.versions}
    held: dict[tuple[Calendar, Side], list[_Span]] = {}
    late: dict[tuple[Calendar, Side], list[_Span]] = {}
    first = last = 0
    for turn in turns:
        key = (versions[turn.version].calendar_of(turn.side), turn.side)
        since, until = (turn.since_on or turn.from_on).toordinal(), turn.until_on.toordinal()
        if since < until:
            held.setdefault(key, []).append((since + 1, until))
            first, last = min(first or since, since), max(last, until)
        # The days by which the turn that it goes on with was late are that one's.
        clear = turn.from_on.toordinal() if turn.resumes else 0
        for after, ended, calendar in turn.late_spans:
            if max(after.toordinal(), clear) < ended.toordinal():
                late.setdefault((calendar, turn.side), []).append(
                    (max(after.toordinal(), clear) + 1, ended.toordinal())
                )
    days = {side: _dates(held, side) for side in Side}
    both = days[Side.ILLUSTRATOR] & days[Side.PUBLISHER]
    either = days[Side.ILLUSTRATOR] | days[Side.PUBLISHER]
    paused = set().union(*(_dates(held, side, kind=_PAUSED) for side in Side)) - either
    return DistinctDays(
        drawing=len(days[Side.ILLUSTRATOR]) - len(both),
        answering=len(days[Side.PUBLISHER]) - len(both),
        both=len(both),
        nobody=last - first - len(either) - len(paused),
        paused=len(paused),
        illustrator_late=len(_dates(late, Side.ILLUSTRATOR)),
        publisher_late=len(_dates(late, Side.PUBLISHER)),
    )


#: What ``Calendar.kinds_from`` calls a working day and a day of a pause.
_WORKED, _PAUSED = 0, 3


def _dates(spans: dict[tuple[Calendar, Side], list[_Span]], side: Side, kind: int = _WORKED) -> set[int]:
    """Collect the days of one kind of a side within its spans, each once."""
    found: set[int] = set()
    for (calendar, held_by), theirs in spans.items():
        if held_by != side:
            continue
        for first, last in _merged(theirs):
            kinds = calendar.kinds_from(date.fromordinal(first), last - first + 1)
            found.update(first + n for n, one in enumerate(kinds) if one == kind)
    return found


def _merged(spans: Iterable[_Span]) -> Iterator[_Span]:
    """Join spans that touch, so that spreads which travel together are walked once."""
    since, until = 0, -1
    for first, last in sorted(spans):
        if first > until + 1:
            if until >= since:
                yield since, until
            since, until = first, last
        else:
            until = max(until, last)
    if until >= since and until > 0:
        yield since, until
