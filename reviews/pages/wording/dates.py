"""Days written as people write them."""

from __future__ import annotations

from datetime import date

from django.utils.formats import date_format
from django.utils.timezone import localdate
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.pages.wording.kept import kept_by_language


@kept_by_language
def both_words(n: int) -> str:
    """Say why the days of two sides come to more than the calendar: the terms count the day of receipt."""
    return ngettext(
        "The terms count the day of receipt: {n} day of handing over is in the days of both sides, and once in the "
        "calendar.",
        "The terms count the day of receipt: {n} days of handing over are in the days of both sides, and once in the "
        "calendar.",
        n,
    ).format(n=n)


def own_clock_words(clock: str, day: str) -> str:
    """Tell the time by the reader's own clock, beside that of the book; ``day`` where it is another there."""
    told = _("{clock} on {day} by your clock") if day else _("{clock} by your clock")
    return told.format(clock=clock, day=day)


def day_words(day: date) -> str:
    """Write a day out: 9 December 2026."""
    return date_format(day, "j F Y")


def near_day(day: date) -> str:
    """Write a day with its weekday: Wednesday, 9 December; with the year where that is not this one."""
    return date_format(day, "l, j F" if day.year == localdate().year else "l, j F Y")


@kept_by_language
def short_day(day: date) -> str:
    """Write a day in a table: 9 Dec 2026."""
    return date_format(day, "j M Y")


@kept_by_language
def day_and_month(day: date) -> str:
    """Write a day where its year is known: 9 Dec."""
    return date_format(day, "j M")


@kept_by_language
def working_days(n: int) -> str:
    """Count working days."""
    return ngettext("{n} working day", "{n} working days", n).format(n=n)
