"""Pauses: days on which the work rests because both sides agreed that it does. They belong to nobody.

A pause runs from a first to a last day. While it lasts no day is anybody's, nothing is late, silence approves nothing
and nobody is reminded; a date that falls in it or after it moves by it. Each agreement on one is a line of the ledger:
a later one about the same pause ends it early, lengthens it or calls it off.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from reviews.rules.contract.calendars import Calendar
from reviews.rules.contract.day_ranges import DayRange
from reviews.rules.contract.days import ONE_DAY, on_or_after
from reviews.rules.states import Refused, Side

#: Our own bound: work that rests longer is another contract.
MOST_PAUSE_DAYS = 366


@dataclass(frozen=True, kw_only=True)
class PauseWord:
    """One agreement on a pause: from when to when it is from now on (``last`` None: it was called off).

    ``seq`` is its ledger line, ``at`` the moment at which ``by`` agreed to what ``proposed_by`` proposed. ``forgives``
    are the sides whose days late until then are counted as if it had been agreed before its first day.
    """

    pause: int
    seq: int
    first: date
    last: date | None
    reason: str = ""
    by: str = ""
    proposed_by: str = ""
    at: datetime | None = None
    forgives: tuple[Side, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Pause:
    """A pause as it stands: its number, its days, its reason, by whose words, and the ledger lines behind it."""

    number: int
    first: date
    last: date
    reason: str
    by: str
    proposed_by: str
    entries: tuple[int, ...]

    @property
    def as_range(self) -> DayRange:
        """Give its days."""
        return DayRange(self.first, self.last)


def in_force(words: Iterable[PauseWord]) -> tuple[Pause, ...]:
    """Fold agreements into the pauses that stand, by their first day; the last word on each holds."""
    found: dict[int, Pause | None] = {}
    lines: dict[int, tuple[int, ...]] = {}
    for word in words:
        lines[word.pause] = (*lines.get(word.pause, ()), word.seq)
        found[word.pause] = _standing(word, lines[word.pause]) if word.last else None
    return tuple(sorted(filter(None, found.values()), key=lambda pause: pause.first))


def _standing(word: PauseWord, entries: tuple[int, ...]) -> Pause:
    return Pause(
        number=word.pause,
        first=word.first,
        last=word.last or word.first,
        reason=word.reason,
        by=word.by,
        proposed_by=word.proposed_by,
        entries=entries,
    )


def ranges_at(words: Sequence[PauseWord], seq: int) -> tuple[DayRange, ...]:
    """Give the days of the pauses that stood once a ledger line was written."""
    return tuple(pause.as_range for pause in in_force(word for word in words if word.seq <= seq)) if words else ()


def first_changed(words: Sequence[PauseWord], seq: int) -> date:
    """Find the first day on which the agreement of a ledger line, or what it stands in place of, can count."""
    said = next(word for word in words if word.seq == seq)
    before = [word.first for word in words if word.pause == said.pause and word.seq < seq]
    return min([said.first, *before])


def moved_by(day: date, before: Calendar, after: Calendar, first: date) -> date:
    """Move a date as a pause moves it: as many working days remain from its first day to the date as did before.

    ``before`` and ``after`` are the calendars without and with what was agreed, ``first`` the first day on which they
    can differ. What lies before that day stays.
    """
    if day < first:
        return day
    left = before.count(first - ONE_DAY, day)
    if left == after.count(first - ONE_DAY, day):
        return on_or_after(day, after) if day in after.paused else day
    return after.nth(first - ONE_DAY, left) if left else on_or_after(day, after)


def check_pause(
    first: date, last: date | None, others: Sequence[Pause], *, start_on: date, calendars: Sequence[Calendar]
) -> None:
    """Refuse a pause that nobody can mean; ``others`` are the pauses that stand, without the one it would change.

    Raises
    ------
    Refused
        ``pause-backwards``, ``pause-too-long``, ``pause-before-work``, ``pause-overlaps``, ``pause-without-days``
    """
    if last is None:
        return
    if last < first:
        raise Refused("pause-backwards", begins_on=first, ends_on=last)
    if (last - first).days + 1 > MOST_PAUSE_DAYS:
        raise Refused("pause-too-long")
    if first < start_on:
        raise Refused("pause-before-work", begins_on=start_on)
    for other in others:
        if other.first <= last and first <= other.last:
            raise Refused("pause-overlaps", begins_on=other.first, ends_on=other.last)
    days = DayRange(first, last).days
    if not any(calendar.is_working(day) for day in days for calendar in calendars):
        raise Refused("pause-without-days", begins_on=first, ends_on=last)


def check_change(pause: Pause | None, first: date, last: date | None, today: date) -> None:
    """Refuse to change a pause so that a day that was nobody's becomes somebody's after it is over.

    Raises
    ------
    Refused
        ``pause-gone``, ``pause-over``, ``pause-begun``, ``pause-ends-past``, ``pause-same``
    """
    if pause is None:
        raise Refused("pause-gone")
    if pause.last < today:
        raise Refused("pause-over", ends_on=pause.last)
    if pause.first <= today and (last is None or first != pause.first):
        raise Refused("pause-begun", begins_on=pause.first)
    if (
        last is None and first != pause.first
    ):  # a pause is called off under its own day, or the other side reads another
        raise Refused("pause-gone")
    if last is not None and last < today:
        raise Refused("pause-ends-past", day=today)
    if (first, last) == (pause.first, pause.last):
        raise Refused("pause-same")
