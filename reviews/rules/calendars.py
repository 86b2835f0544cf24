"""Which days are worked: weekends, public holidays of the places named in the terms, and days a house is shut.

The terms say "holidays kept in England and New York". A day counts only if it is a working day in *every* place
named, so that neither side is charged for a day on which it could not be reached.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache, partial
from importlib.metadata import version
from itertools import accumulate
from typing import Any, Literal

import holidays
from holidays.registry import COUNTRIES

DayKind = Literal["working", "weekend", "holiday"]

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

#: Without a named place nothing is known about its week; Saturday and Sunday are the commonest days of rest.
ORDINARY_REST = frozenset({5, 6})


#: Any year will do to ask whether a place is known.
_SAMPLE_YEAR = 2026


class UnknownPlace(ValueError):
    """A place whose holidays are not known; the message is a sentence for the person who named it."""


@dataclass(frozen=True, order=True)
class Place:
    """A country or a part of one, as the terms name it: `GB-ENG`, "United Kingdom, ENG"."""

    code: str
    name: str


@dataclass(frozen=True)
class Calendar:
    """The working days of one or more places together. Hashable, so that its years are computed once.

    places    ISO 3166 codes: "US", "GB-ENG", "US-NY". Empty: Monday to Friday, no holidays.
    shut      days on which the house itself is closed, beyond the holidays of its place
    observed  whether a holiday that falls on a weekend also closes the weekday given in its stead
    rest      weekdays of rest (Monday is 0); None takes what each place keeps
    """

    places: tuple[str, ...] = ()
    shut: frozenset[date] = frozenset()
    observed: bool = True
    rest: frozenset[int] | None = None

    @property
    def name(self) -> str:
        """Name the calendar and the release of its holiday data: figures computed with another release may differ."""
        if not self.places:
            return "Monday to Friday, no holidays kept"
        return f"{' and '.join(self.places)} (holidays {version('holidays')})"

    @property
    def years_known(self) -> tuple[int, int]:
        """Give the first and last year for which every place's holidays are known; beyond, only weekends close."""
        kept = [_holidays_of(code, _SAMPLE_YEAR, self.observed) for code in self.places]
        first = max((int(known.start_year) for known in kept), default=1)
        return first, min((int(known.end_year) for known in kept), default=9999)

    def kind(self, day: date) -> DayKind:
        """Sort a day into exactly one of working, weekend, holiday. A holiday on a weekend is a weekend."""
        return _year(self, day.year).kinds[_index(day)]

    def is_working(self, day: date) -> bool:
        """Say whether the day counts."""
        return _year(self, day.year).kinds[_index(day)] == "working"

    def why_closed(self, day: date) -> str:
        """Name what closes the day ("Good Friday in GB-ENG", "Saturday"); empty for a working day."""
        kind = self.kind(day)
        if kind == "working":
            return ""
        if kind == "weekend":
            return WEEKDAYS[day.weekday()]
        return _year(self, day.year).reasons[day]

    def count(self, after: date, until: date) -> int:
        """Count the working days after the first date, up to and with the second; `until` must not be earlier."""
        whole_years = sum(_year(self, year).running[-1] for year in range(after.year, until.year))
        return (
            whole_years
            + _year(self, until.year).running[_index(until)]
            - _year(self, after.year).running[_index(after)]
        )


@dataclass(frozen=True)
class _Year:
    kinds: tuple[DayKind, ...]
    running: tuple[int, ...]  # working days of the year up to and with each day
    reasons: dict[date, str]


def working_calendar(
    places: Iterable[str] = (),
    *,
    shut: Iterable[date] = (),
    observed: bool = True,
    rest: Iterable[int] | None = None,
) -> Calendar:
    """Build the calendar kept in these places together, or refuse a place whose holidays are not known."""
    codes = tuple(dict.fromkeys(place.strip().upper() for place in places))
    for code in codes:
        _holidays_of(code, _SAMPLE_YEAR, observed)
    return Calendar(codes, frozenset(shut), observed, None if rest is None else frozenset(rest))


@lru_cache(maxsize=1)
def known_places() -> tuple[Place, ...]:
    """List every place whose public holidays are known, countries first within each name, for a form to offer."""
    parts = holidays.list_supported_countries(include_aliases=False)
    found = []
    for classes in COUNTRIES.values():
        code, name = classes[1], _spaced(classes[0])
        found.append(Place(code, name))
        found += [Place(f"{code}-{part}", f"{name}, {part}") for part in parts.get(code, ())]
    return tuple(sorted(found, key=lambda place: (place.name, place.code)))


def _spaced(name: str) -> str:
    return "".join(
        f" {c}" if c.isupper() and i and not name[i - 1].isupper() else c for i, c in enumerate(name)
    )


@lru_cache(maxsize=4096)
def _holidays_of(code: str, year: int, observed: bool) -> Any:
    country, _, part = code.partition("-")
    keep = partial(holidays.country_holidays, country, subdiv=part or None, years=[year], observed=observed)
    with warnings.catch_warnings():
        # "Available only from 2001 to 2035" is asked for by `years_known` and told to people there.
        warnings.simplefilter("ignore", UserWarning)
        try:
            known = keep()
        except NotImplementedError as unknown:
            raise UnknownPlace(
                f"The holidays of “{code}” are not known here. Choose a place from the list, "
                "for instance GB-ENG or US-NY."
            ) from unknown
        # The default language follows the machine's locale, and a statement must read the same everywhere.
        return keep(language="en_US") if "en_US" in known.supported_languages else known


@lru_cache(maxsize=4096)
def _year(calendar: Calendar, year: int) -> _Year:
    kept = [(code, _holidays_of(code, year, calendar.observed)) for code in calendar.places]
    start = date(year, 1, 1)
    days = [start + timedelta(n) for n in range((date(year + 1, 1, 1) - start).days if year < 9999 else 365)]
    kinds: list[DayKind] = []
    reasons: dict[date, str] = {}
    for day in days:
        kind = _kind(calendar, kept, day)
        kinds.append(kind)
        if kind == "holiday":
            closed = [f"{known[day]} in {code}" for code, known in kept if day in known]
            reasons[day] = "; ".join(closed) or "the house is shut"
    running = tuple(accumulate(int(kind == "working") for kind in kinds))
    return _Year(tuple(kinds), running, reasons)


def _kind(calendar: Calendar, kept: list[tuple[str, Any]], day: date) -> DayKind:
    if calendar.rest is not None:
        at_rest = day.weekday() in calendar.rest
        on_holiday = any(day in known for _, known in kept)
    elif kept:
        # Some places work a Saturday in exchange for a bridge day; the holiday data knows those too.
        at_rest = any(day.weekday() in known.weekend and not known.is_working_day(day) for _, known in kept)
        on_holiday = any(day in known for _, known in kept)
    else:
        at_rest, on_holiday = day.weekday() in ORDINARY_REST, False
    if at_rest:
        return "weekend"
    return "holiday" if on_holiday or day in calendar.shut else "working"


def _index(day: date) -> int:
    return day.timetuple().tm_yday - 1
