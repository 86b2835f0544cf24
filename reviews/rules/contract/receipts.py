"""The day each ledger entry counts as received on, and the days that run from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime

from reviews.rules.contract.calendars import Calendar, DaysByKind
from reviews.rules.contract.day_ranges import DayRange
from reviews.rules.contract.days import day_zero, day_zero_after_silence, day_zero_local, last_day, working_days_between
from reviews.rules.contract.pauses import PauseWord, in_force, ranges_at
from reviews.rules.contract.terms import Terms, TermsHistory
from reviews.rules.contract.timeline import OPENS, Event
from reviews.rules.states import Deed, Side


class Receipts:
    """The day each ledger entry counts as received on; one letter may answer twenty passages, and is dated once."""

    def __init__(
        self, terms: TermsHistory, entered: Mapping[int, int] | None = None, pauses: Sequence[PauseWord] = ()
    ) -> None:
        """``entered`` has the ledger line of each version: what came in earlier that day was told by the one before.

        ``terms`` then counts with the pauses that stand; what was told before one was agreed was told without it.
        """
        self.pauses = tuple(pauses)
        self.terms = terms.paused(tuple(pause.as_range for pause in in_force(self.pauses)))
        self._known: dict[tuple[int, int], Terms] = {}
        self._entered = entered or {}
        self._zeros: dict[tuple[datetime, Side, int], date] = {}
        self._days: dict[tuple[int, Side], date] = {}
        # Spreads that travel together share their turns' days: counting them once is half the work of a statement.
        self._spans: dict[tuple[int, Side, date, date], DaysByKind] = {}
        self._last_days: dict[tuple[int, tuple[DayRange, ...], Side, date, int], date] = {}
        self._written: dict[int, tuple[datetime, date, Terms]] = {}

    def day(self, event: Event, receiver: Side) -> date:
        """Give day 0 of whoever receives it; what is taken back is received by nobody, and counts on its own day."""
        found = self._days.get((event.seq, receiver))
        if found is not None:
            return found
        # What silence and a withdrawal tell depends on more than the entry and is not kept.
        if event.deed == Deed.WITHDRAW_HAND_IN:
            return self.written_on(event)
        if silent_on := event.data.get("silent_on"):
            return self._after_silence(event, date.fromisoformat(silent_on))
        local, _, held = self._of(event)
        # Spreads that travel together are handed in within the same minute: many entries, one moment.
        key = (local, receiver, held.version)
        found = self._zeros.get(key)
        if found is None:
            found = self._zeros[key] = day_zero_local(local, held.day_rule, held.calendar_of(receiver))
        self._days[event.seq, receiver] = found
        return found

    def _after_silence(self, event: Event, silent_on: date) -> date:
        """Let silence end with its day, and what it opens begin on the day on which the portal said so."""
        if event.deed != OPENS:
            return silent_on
        return day_zero_after_silence(silent_on, self.written_on(event), self.version(event).day_rule)

    def written_on(self, event: Event) -> date:
        """Give the date on the wall when it happened, where the terms count."""
        return self._of(event)[1]

    def local(self, event: Event) -> datetime:
        """Give the moment itself, in the zone of the terms."""
        return self._of(event)[0]

    def version(self, event: Event) -> Terms:
        """Give the terms that held when it happened, with the pauses that had been agreed by then."""
        return self._of(event)[2]

    def counted(self, held: Terms) -> Terms:
        """Give the same version with all pauses that stand: by it days are counted, whenever they were agreed."""
        return self.terms.numbered(held.version) if self.pauses else held

    def known_at(self, held: Terms, seq: int) -> Terms:
        """Give a version with the pauses that stood once a ledger line was written."""
        if not self.pauses:
            return held
        found = self._known.get((held.version, seq))
        if found is None:
            found = TermsHistory((held,)).paused(ranges_at(self.pauses, seq)).versions[0]
            self._known[held.version, seq] = found
        return found

    def split(self, held: Terms, side: Side, from_on: date, until_on: date) -> DaysByKind:
        """Split the days after one date, up to and with another, by what they are to a side."""
        key = (held.version, side, from_on, until_on)
        found = self._spans.get(key)
        if found is None:
            found = held.calendar_of(side).split(from_on, until_on)
            self._spans[key] = found
        return found

    def last_day(self, held: Terms, side: Side, from_on: date, n_days: int) -> date:
        """Find the last of a side's days that run from a day on."""
        key = (held.version, held.pauses, side, from_on, n_days)
        found = self._last_days.get(key)
        if found is None:
            found = last_day(from_on, n_days, held.day_rule, held.calendar_of(side))
            self._last_days[key] = found
        return found

    def _held_at(self, event: Event) -> Terms:
        held = self.terms.at(event.at)
        while held.version > self.terms.versions[0].version and self._entered.get(held.version, 0) > event.seq:
            held = self.terms.numbered(held.version - 1)
        return held

    def _of(self, event: Event) -> tuple[datetime, date, Terms]:
        found = self._written.get(event.seq)
        if found is None:
            held = self._held_at(event)
            local = event.at.astimezone(held.day_rule.zone_info)
            found = local, local.date(), self.known_at(held, event.seq)
            self._written[event.seq] = found
        return found


def given_back_on(at: datetime, held: Terms) -> date:
    """Find the day on which what is given at a moment counts as given: the giver's own, or the receiver's if earlier.

    Where each side keeps its own holidays, one of the receiver's costs the giver nothing.
    """
    return min(day_zero(at, held.day_rule, held.calendar_of(side)) for side in Side)


def late_days(due_on: date | None, until_on: date, calendar: Calendar, *, grace: int = 0) -> int:
    """Count the working days after the last day, up to and with the day it was done or is reckoned on.

    The first of them, as many as the terms give in grace, are not counted.
    The one count of lateness: what the statement sums up is what the desk and the letter say before.
    """
    if due_on is None or until_on <= due_on:
        return 0
    return max(0, working_days_between(due_on, until_on, calendar) - grace)
