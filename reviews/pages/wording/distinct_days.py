"""Distinct days of the calendar in words."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.rules.contract.distinct_days import DistinctDays


def distinct_words(days: DistinctDays) -> str:
    """Say how many working days the book took and what they waited for: each date once."""
    total = ngettext("{n} working day", "{n} working days", days.working).format(n=days.working)
    sorts = [
        _("{n} waited on drawing").format(n=days.drawing),
        _("{n} on an answer").format(n=days.answering),
        *([_("{n} on both").format(n=days.both)] if days.both else []),
        *([_("and {n} rested, nobody’s").format(n=days.paused)] if days.paused else []),
    ]
    return f"{total}: {', '.join(sorts)}"


def late_dates_words(days: DistinctDays) -> str:
    """Say on how many days something was late, each date once; nothing where nothing was."""
    told = []
    if days.illustrator_late:
        told.append(
            ngettext("on {n} day a hand-in was late", "on {n} days a hand-in was late", days.illustrator_late).format(
                n=days.illustrator_late
            )
        )
    if days.publisher_late:
        told.append(
            ngettext("on {n} day an answer was late", "on {n} days an answer was late", days.publisher_late).format(
                n=days.publisher_late
            )
        )
    return _(", ").join(told)
