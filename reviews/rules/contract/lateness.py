"""How many working days late, where a date was moved by agreement while it was already missed.

What was late up to the day of the agreement stays late, with that day: a new date does not undo it. It is forgiven
only where the acceptance says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

from reviews.rules.contract.calendars import Calendar
from reviews.rules.contract.receipts import late_days


class HeldDate(NamedTuple):
    """A date as it stood: ``since`` the day on which it was agreed (None: it was there from the beginning).

    ``forgives`` says that with it the days late until then were forgiven. ``paused`` is the calendar from then on,
    where it was a pause that both sides agreed on: then what it forgives is what would not have been late had it been
    agreed before its first day.
    """

    due_on: date | None
    since: date | None = None
    forgives: bool = False
    paused: Calendar | None = None


class LateSpan(NamedTuple):
    """Late days: after one date, up to and with another, by a calendar."""

    after: date
    until: date
    calendar: Calendar


class Late(NamedTuple):
    """Working days late, and those that were late and are forgiven.

    ``spans`` are the dates between which those counted lie: after the first of each, up to and with the second; with
    the calendar by which they are counted.
    """

    counted: int = 0
    forgiven: int = 0
    spans: tuple[LateSpan, ...] = ()


ON_TIME = Late()


def moved(stands: Sequence[HeldDate], to: date, on: date, data: Mapping[str, Any]) -> list[HeldDate]:
    """Add a date that somebody moved to those that stood before; ``data`` is what its ledger line says.

    A line that says nothing of a proposal is older than agreements: the date was moved by one side, and it was counted
    as if it had always stood.
    """
    if "proposed" not in data:
        return [HeldDate(to, paused=stands[-1].paused)]
    return [*stands, HeldDate(to, on, bool(data.get("forgives")))]


def set_anew(stands: Sequence[HeldDate], due_on: date | None) -> list[HeldDate]:
    """Say that the date that stands is another, by no agreement: the stage opened late, or the publisher was late."""
    return [*stands[:-1], stands[-1]._replace(due_on=due_on)]


def late_in(stands: Sequence[HeldDate], until_on: date, calendar: Calendar, *, grace: int = 0) -> Late:
    """Count the working days after each date, up to and with the day on which the next was agreed, or ``until_on``.

    ``calendar`` is the one with which the turn began.
    """
    if len(stands) == 1 and stands[0].since is None and stands[0].paused is None:
        return _with(ON_TIME, stands[0].due_on, None, until_on, calendar, grace)  # as most turns have it
    late = Late()
    for n, (due_on, since, _, paused) in enumerate(stands):
        following = stands[n + 1] if n + 1 < len(stands) else None
        calendar = paused or calendar
        ends_on = until_on if following is None or following.since is None else min(following.since, until_on)
        now = _with(late, due_on, since, ends_on, calendar, grace)
        if following is None or not following.forgives:
            late = now
        elif following.paused is None:
            # One acceptance forgives what was late until then, whatever was agreed before it.
            late = Late(0, now.forgiven + now.counted)
        else:
            kept = Late(0, 0, ())
            for span in late.spans:
                kept = _with(kept, span.after, None, span.until, following.paused, 0)
            kept = _with(kept, following.due_on, since, ends_on, following.paused, grace)
            late = kept._replace(forgiven=now.forgiven + max(0, now.counted - kept.counted))
    return late


def _with(late: Late, due_on: date | None, since: date | None, ends_on: date, calendar: Calendar, grace: int) -> Late:
    """Add the days that are late after one date."""
    after = due_on if due_on is None or since is None else max(due_on, since)
    days = late_days(after, ends_on, calendar, grace=grace)
    if not days or after is None:
        return late
    return late._replace(counted=late.counted + days, spans=(*late.spans, LateSpan(after, ends_on, calendar)))
