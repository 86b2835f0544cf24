"""One turn: an unbroken time in which a passage is in the hands of one side."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from reviews.rules.contract.lateness import LateSpan
from reviews.rules.states import Side


class Part(NamedTuple):
    """The working days of one turn that one person had it; `by` is empty while nobody has acted yet.

    `entries` are the ledger lines between which they lie.
    """

    role: str
    by: str
    working: int
    entries: tuple[int, ...] = ()


class Turn(NamedTuple):
    """One unbroken time in the hands of one side.

    from_on    the day it counts as received; `until_on` the day it was given back, or the day of reckoning if
               that comes first
    ends_on    the day on which it counts as given back, which may lie after the day of reckoning; None while it is held
    since_on   the day after which the days of the calendar are those of this turn: the last one of the turn before it
    working    working days of the side, as the terms count them; `weekend` and `holiday` fell in between and belong to
               nobody, as do the days between the giver's last and the receiver's first where each has its own holidays
    both       1 where the day of receipt counts for the receiver and was the giver's last day already
    allowed    what the terms allow; None where they set nothing (a stage without an answer)
    due_on     the last day allowed, planned or agreed; never a closed day unless one was agreed
    silent_on  the day on which silence counted as approval, if it did: the portal's own entry says so
    printer_on the day on which the portal's own entry gave it on to the printer, if one did
    entries    the ledger lines that began, divided and ended it
    late       working days beyond the last day, by the day on which it counts as given back if it was: who gives it
               after the hour is late at once, as all are told. The last day is later than the days allowed where a
               later date was planned or agreed; what was late before a date was agreed stays late
    late_spans the dates between which the days of ``late`` lie
    paused     days on which both sides would have worked, had they not agreed that the work rests: nobody's
    forgiven   working days that were late and that the other side forgave as it agreed to another date
    resumes    whether it goes on with the turn before, whose hand-in was taken back: ``allowed`` is then what that
               turn had left, and no sum counts it anew, nor the days by which that one was late
    is_cut        whether it ended because the spread was dropped: nothing was given to anybody
    silence_on    the day with whose end silence counts as approval, if the terms say so and nobody has answered
    announced_on  the day on which the art director was warned of that
    """

    passage: int
    side: Side
    from_on: date
    until_on: date
    is_open: bool
    working: int
    weekend: int
    holiday: int
    allowed: int | None
    due_on: date | None
    silent_on: date | None
    parts: tuple[Part, ...]
    entries: tuple[int, ...]
    version: int
    late: int
    printer_on: date | None = None
    silence_on: date | None = None
    announced_on: date | None = None
    resumes: bool = False
    both: int = 0
    since_on: date | None = None
    ends_on: date | None = None
    forgiven: int = 0
    late_spans: tuple[LateSpan, ...] = ()
    paused: int = 0
    is_cut: bool = False

    @property
    def is_given(self) -> bool:
        """Say whether its side gave something to the other with its end: no drop, and no giving on to the printer."""
        return not self.is_open and not self.is_cut and self.printer_on is None

    @property
    def calendar_days(self) -> int:
        """Count all days that are this turn's alone."""
        return (self.until_on - (self.since_on or self.from_on)).days
