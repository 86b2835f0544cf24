"""Count days as contracts and rules of court count them: day 0, cut-off hour, working days, clear days.

Every function takes its dates and its calendar as arguments; none knows what day it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cached_property
from typing import Literal
from zoneinfo import ZoneInfo

from reviews.rules.contract.calendars import Calendar

ONE_DAY = timedelta(days=1)

Receipt = Literal["as-is", "next-working-day"]

#: England, CPR 2.8(4): in a period of five days or fewer, Saturdays, Sundays and bank holidays do not count.
SHORT_PERIOD_DAYS = 5


@dataclass(frozen=True)
class DayRule:
    """How the terms count days.

    zone            the time zone whose midnight ends a day
    cut_off         a thing received at or after this local time counts as received later; None: midnight
    late_receipt    what happens to a thing received after the cut-off or on a closed day: "as-is" takes
                    its own date
                    as day 0; "next-working-day" deems it received on the next working day. The two differ
                    by one day
    counts_receipt  whether the day of receipt is day 1 rather than day 0
    """

    zone: str = "UTC"
    cut_off: time | None = None
    late_receipt: Receipt = "as-is"
    counts_receipt: bool = False

    @cached_property
    def zone_info(self) -> ZoneInfo:
        """Give the zone itself."""
        return ZoneInfo(self.zone)

    def local_date(self, at: datetime) -> date:
        """Give the date on the wall at this moment in the zone of the terms."""
        return at.astimezone(self.zone_info).date()

    def end_of(self, day: date) -> datetime:
        """Give the moment at which the day is over: midnight at its end, in the zone of the terms."""
        return datetime.combine(day + ONE_DAY, time(), self.zone_info)


def day_zero(at: datetime, rule: DayRule, calendar: Calendar) -> date:
    """Find the day from which a period runs, for a thing received at this moment.

    Contracts may take what comes after their hour, or on a closed day, as received on the next working day.
    """
    return day_zero_local(at.astimezone(rule.zone_info), rule, calendar)


def day_zero_local(local: datetime, rule: DayRule, calendar: Calendar) -> date:
    """Find the same day for a moment that is already in the zone of the terms."""
    day = local.date()
    if rule.late_receipt == "as-is":
        return day
    if rule.cut_off is not None and local.time() >= rule.cut_off:
        day += ONE_DAY
    return on_or_after(day, calendar)


def day_zero_after_silence(silent_on: date, told_on: date, rule: DayRule) -> date:
    """Find day 0 of what silence opens: its first day is the one on which the portal says so, the day after silence.

    So the days run as after an answer on the last day, and a portal that was switched off takes none of them.
    """
    return max(silent_on, told_on if rule.counts_receipt else told_on - ONE_DAY)


@dataclass(frozen=True)
class LateReceipt:
    """Why what happened at a moment counts on a later day.

    It was ``late_at`` an hour or later, it was a closed day (neither), or its own days had not begun, as before the day
    on which work starts.
    """

    counts_on: date
    late_at: time | None
    is_before_begin: bool


def late_receipt(local: datetime, received_on: date, counts_on: date, rule: DayRule) -> LateReceipt | None:
    """Say why what happened at this moment counts on a later day; None where it counts at once."""
    if counts_on <= local.date():
        return None
    is_late = rule.cut_off is not None and local.time() >= rule.cut_off
    return LateReceipt(counts_on, rule.cut_off if is_late else None, counts_on > received_on)


def last_day(received: date, n_days: int, rule: DayRule, calendar: Calendar) -> date:
    """Find the last day of a period of n working days that runs from day 0; it never lies on a closed day."""
    if rule.counts_receipt and n_days > 0 and calendar.is_working(received):
        n_days -= 1
    return add_working_days(received, n_days, calendar)


def add_working_days(day: date, n_days: int, calendar: Calendar) -> date:
    """Step n working days on (or back, if negative); n = 0 gives the day itself or the first working day
    after it."""
    if n_days == 0:
        return on_or_after(day, calendar)
    return calendar.nth(day, n_days)


def working_days_between(start: date, end: date, calendar: Calendar) -> int:
    """Count working days after the start, up to and with the end; negative if the end comes first.

    So `working_days_between(d, add_working_days(d, n, c), c) == n` for every n > 0.
    """
    if end < start:
        return -calendar.count(end, start)
    return calendar.count(start, end)


def on_or_after(day: date, calendar: Calendar) -> date:
    """Give the day itself if it is a working day, else the next one."""
    return day if calendar.is_working(day) else calendar.nth(day, 1)


def on_or_before(day: date, calendar: Calendar) -> date:
    """Give the day itself if it is a working day, else the one before."""
    return day if calendar.is_working(day) else calendar.nth(day, -1)


def period_end(trigger: date, n_days: int, calendar: Calendar) -> date:
    """End a period of n calendar days: the trigger day is left out, a closed last day runs to the next
    working day.

    The count of US Federal Rules of Civil Procedure 6(a)(1), and what most contracts mean by "within 30
    days". A day of a pause is nobody's, and no day of the period.
    """
    return on_or_after(days_on(trigger, n_days, calendar), calendar)


def days_on(day: date, n_days: int, calendar: Calendar) -> date:
    """Step n days of the calendar on, or back if negative; those of a pause are stepped over."""
    if not calendar.paused:
        return day + timedelta(n_days)
    step = ONE_DAY if n_days > 0 else -ONE_DAY
    left = abs(n_days)
    while left:
        day += step
        left -= day not in calendar.paused
    return day
