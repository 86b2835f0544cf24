"""How each version of a book's terms counts days, in a few plain values that a book's row can carry.

Pages that list many spreads count late days by these; they are the same calendars from which the statement counts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import Any

from reviews.rules.contract.calendars import Calendar
from reviews.rules.contract.day_ranges import DayRange, ranges_from_text
from reviews.rules.contract.own_days import side_calendars
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.terms_text import terms_to_text
from reviews.rules.states import Side

#: What versions of before have not: kept only where it says something.
_LATER = ("closures", "worked", "hand_in_grace", "answer_grace")


def counted_by(terms: Terms) -> dict[str, Any]:
    """Write how one version of the terms counts days as plain JSON values."""
    return counted_in(terms_to_text(terms))


def counted_in(text: Mapping[str, Any]) -> dict[str, Any]:
    """Read the same off a version that is text already."""
    counted = {name: text.get(name, False) for name in ("from_on", "places", "own_places", "shut")}
    return counted | {name: text[name] for name in _LATER if text.get(name)}


def calendar_for(
    side: Side, versions: Sequence[Mapping[str, Any]], on: date | None, pauses: tuple[DayRange, ...] = ()
) -> Calendar | None:
    """Find a side's calendar under the version that held on a day; None where no terms were entered."""
    held = _held(versions, on)
    if held is None:
        return None
    closures, worked = (ranges_from_text(held.get(name, ())) for name in ("closures", "worked"))
    return _calendars(tuple(held["places"]), tuple(held["shut"]), held["own_places"], closures, worked, pauses)[side]


def grace_for(side: Side, versions: Sequence[Mapping[str, Any]], on: date | None) -> int:
    """Give a side's days of grace under the same version; none where no terms were entered."""
    held = _held(versions, on) or {}
    return int(held.get("hand_in_grace" if side == Side.ILLUSTRATOR else "answer_grace", 0))


def _held(versions: Sequence[Mapping[str, Any]], on: date | None) -> Mapping[str, Any] | None:
    held = versions[0] if versions else None
    for version in versions[1:]:
        if on is not None and version["from_on"] > on.isoformat():
            break
        held = version
    return held


@lru_cache(maxsize=64)
def _calendars(
    places: tuple[str, ...],
    shut: tuple[str, ...],
    own_places: bool,
    closures: tuple[DayRange, ...],
    worked: tuple[DayRange, ...],
    pauses: tuple[DayRange, ...],
) -> Mapping[Side, Calendar]:
    days = [date.fromisoformat(day) for day in shut]
    return side_calendars(places, days, own_places=own_places, closures=closures, worked=worked, pauses=pauses)
