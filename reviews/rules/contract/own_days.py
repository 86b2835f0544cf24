"""The calendar of each side: whose places and closed days count for whose days."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from reviews.rules.contract.calendars import Calendar, working_calendar
from reviews.rules.contract.day_ranges import DayRange, days_of
from reviews.rules.states import Side

#: The illustrator's place first, then the publisher's.
MOST_PLACES = 2


def side_calendars(
    places: Sequence[str],
    shut: Iterable[date] = (),
    *,
    own_places: bool,
    closures: Sequence[DayRange] = (),
    worked: Sequence[DayRange] = (),
    pauses: Sequence[DayRange] = (),
) -> Mapping[Side, Calendar]:
    """Give each side its calendar: that of its own place, or the joint one. A place left blank keeps no holidays.

    A side's own closed days, and the holidays it works, change its own days and not the other's. The days of a pause
    are nobody's.
    """
    both, paused = tuple(shut), days_of(pauses, None)
    kept = [[place] for place in places] if own_places and len(places) == MOST_PLACES else [places, places]
    return {
        side: working_calendar(
            filter(None, own),
            shut={*both, *days_of(closures, side)},
            worked=days_of(worked, side),
            paused=paused,
        )
        for side, own in zip(Side, kept, strict=True)
    }
