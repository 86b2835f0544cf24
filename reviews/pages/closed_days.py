"""The next closed days of a place, as somebody chooses it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from reviews.rules.contract.calendars import ASKS_PART, closed_days_after, parts_of, place_named, places_alike

#: Enough to see a whole year of most places.
N_DAYS = 10


@dataclass(frozen=True, kw_only=True)
class ClosedDays:
    """What is known of a place that was typed; ``name`` is empty where nothing was.

    is_known    whether its holidays are known at all
    asks_part   whether it must be told apart: each part keeps holidays that the whole does not
    parts       the names of its parts, where it is a country that has some
    alike       the names of several places that were meant by what was typed
    """

    name: str
    is_known: bool = False
    asks_part: bool = False
    parts: tuple[str, ...] = ()
    alike: tuple[str, ...] = ()
    days: tuple[tuple[date, str], ...] = ()


def closed_days_of(typed: str, after: date) -> ClosedDays:
    """Look up what a typed place keeps after a day."""
    place = place_named(typed) if typed.strip() else None
    if place is None:
        alike = tuple(one.name for one in places_alike(typed)) if typed.strip() else ()
        return ClosedDays(name=typed.strip(), alike=alike)
    parts = tuple(part.name for part in parts_of(place.code)) if "-" not in place.code else ()
    if place.code in ASKS_PART:
        return ClosedDays(name=place.name, is_known=True, asks_part=True, parts=parts)
    days = tuple(closed_days_after(place.code, after, N_DAYS))
    return ClosedDays(name=place.name, is_known=True, parts=parts, days=days)
