"""Which days are worked: weekends, public holidays of the places named in the terms, and days a house is
shut.

The terms say "holidays kept in England and New York". A day counts only if it is a working day in *every*
place
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
from typing import Any, Literal, NamedTuple

import holidays
from holidays.registry import COUNTRIES

from reviews.rules.states import Refused

DayKind = Literal["working", "weekend", "holiday", "paused"]

#: Without a named place nothing is known about its week; Saturday and Sunday are the commonest days of rest.
ORDINARY_REST = frozenset({5, 6})


#: Any year will do to ask whether a place is known.
_SAMPLE_YEAR = 2026


@dataclass(frozen=True, order=True)
class Place:
    """A country or a part of one, as the terms name it: `GB-ENG`, "England, United Kingdom"."""

    code: str
    name: str


class DaysByKind(NamedTuple):
    """How many days of each kind lie between two dates."""

    working: int
    weekend: int
    holiday: int
    paused: int = 0


@dataclass(frozen=True, kw_only=True)
class Calendar:
    """The working days of one or more places together. Hashable, so that its years are computed once.

    places    ISO 3166 codes: "US", "GB-ENG", "US-NY". Empty: Monday to Friday, no holidays.
    shut      days on which the house itself is closed, beyond the holidays of its place
    worked    days that are worked although the place keeps them as public holidays; a weekend stays one
    observed  whether a holiday that falls on a weekend also closes the weekday given in its stead
    rest      weekdays of rest (Monday is 0); None takes what each place keeps
    paused    days on which both sides agreed that the work rests; a weekend or holiday among them stays one
    """

    places: tuple[str, ...] = ()
    shut: frozenset[date] = frozenset()
    observed: bool = True
    rest: frozenset[int] | None = None
    worked: frozenset[date] = frozenset()
    paused: frozenset[date] = frozenset()

    @property
    def name(self) -> str:
        """Name the places and the release of the holiday data: figures computed with another release may differ."""
        return f"{'+'.join(self.places)}/{version('holidays')}" if self.places else ""

    @property
    def years_known(self) -> tuple[int, int]:
        """Give the first and last year for which every place's holidays are known; beyond, only weekends
        close."""
        kept = [_holidays_of(code, _SAMPLE_YEAR, self.observed) for code in self.places]
        first = max((int(known.start_year) for known in kept), default=1)
        return first, min((int(known.end_year) for known in kept), default=9999)

    def kind(self, day: date) -> DayKind:
        """Sort a day into exactly one of its kinds. A holiday on a weekend is a weekend."""
        table = self._covering(day, day)
        return _KINDS[table.kinds[day.toordinal() - table.start]]

    def is_working(self, day: date) -> bool:
        """Say whether the day counts."""
        return self.kind(day) == "working"

    def count(self, after: date, until: date) -> int:
        """Count the working days after the first date, up to and with the second, which is not earlier."""
        table = self._covering(after, until)
        return table.working[until.toordinal() - table.start] - table.working[after.toordinal() - table.start]

    def split(self, after: date, until: date) -> DaysByKind:
        """Count the days of each kind after the first date, up to and with the second."""
        table = self._covering(after, until)
        first, last = after.toordinal() - table.start, until.toordinal() - table.start
        working = table.working[last] - table.working[first]
        weekend = table.resting[last] - table.resting[first]
        paused = table.paused[last] - table.paused[first]
        return DaysByKind(working, weekend, last - first - working - weekend - paused, paused)

    def kinds_from(self, day: date, n_days: int) -> bytes:
        """Give one byte for each of the days from this one on: 0 working, 1 weekend, 2 holiday, 3 paused."""
        table = self._covering(day, day + timedelta(n_days))
        at = day.toordinal() - table.start
        return table.kinds[at : at + n_days]

    def nth(self, day: date, n: int) -> date:
        """Give the n-th working day after a date, or, if n is negative, before it; n is not 0."""
        table = self._covering(day, day)
        while True:
            at = day.toordinal() - table.start
            place = table.working[at] + (n - 1 if n > 0 else n - (table.kinds[at] == 0))
            if 0 <= place < len(table.days):
                return date.fromordinal(table.days[place])
            first, last = table.years
            if last - first > 1 + _FEWEST_A_YEAR * 2 + abs(n):
                raise ValueError(
                    "This calendar has no working day within a year. Check the places and the days of rest."
                )
            # Double the years that are known; the last one may lie beyond what a date can say.
            more = last - first + 1
            table = self._extended(max(1, first - (more if n < 0 else 0)), min(9998, last + (more if n > 0 else 0)))

    def _covering(self, first: date, last: date) -> _Table:
        table: _Table | None = self.__dict__.get("_table")
        if table is not None and table.years[0] <= first.year and last.year <= table.years[1]:
            return table
        years = (
            (first.year, last.year)
            if table is None
            else (min(first.year, table.years[0]), max(last.year, table.years[1]))
        )
        return self._extended(*years)

    def _extended(self, first: int, last: int) -> _Table:
        table = _table(self, first, last)
        self.__dict__["_table"] = table  # a memory of what was computed, no part of what the calendar is
        return table


_KINDS: tuple[DayKind, ...] = ("working", "weekend", "holiday", "paused")

#: A real calendar works far more days than this in any year; one that does not is a mistake in its days of
#: rest.
_FEWEST_A_YEAR = 2


@dataclass(frozen=True, kw_only=True)
class _Table:
    """Several years in a row, summed up so that counting and stepping cost the same however far apart the
    days."""

    years: tuple[int, int]
    start: int  # ordinal of the first day
    kinds: bytes
    working: tuple[int, ...]  # working days up to and with each day
    resting: tuple[int, ...]
    paused: tuple[int, ...]
    days: tuple[int, ...]  # the ordinals of the working days


def working_calendar(
    places: Iterable[str] = (),
    *,
    shut: Iterable[date] = (),
    observed: bool = True,
    rest: Iterable[int] | None = None,
    worked: Iterable[date] = (),
    paused: Iterable[date] = (),
) -> Calendar:
    """Build the calendar kept in these places together, or refuse a place whose holidays are not known."""
    codes = tuple(dict.fromkeys(_as_known(place.strip()) for place in places))
    for code in codes:
        _holidays_of(code, _SAMPLE_YEAR, observed)
    resting = None if rest is None else frozenset(rest)
    return Calendar(
        places=codes,
        shut=frozenset(shut),
        observed=observed,
        rest=resting,
        worked=frozenset(worked),
        paused=frozenset(paused),
    )


@lru_cache(maxsize=1)
def known_places() -> tuple[Place, ...]:
    """List every place whose public holidays are known by its name, for a form to offer; no name stands twice."""
    found: dict[str, Place] = {}
    for code in _COUNTRY_NAMES:
        for place in _places_in(code):
            found.setdefault(place.name, place)
    return tuple(sorted(found.values(), key=lambda place: (place.name.rpartition(", ")[2], place.name)))


def place_named(typed: str) -> Place | None:
    """Find a place by its name or its code, however it is capitalised; None where its holidays are not known.

    A part of a country is found by its own name alone ("England") where no other place has it.
    """
    wanted = typed.strip().casefold()
    named = (place for place in known_places() if wanted in (place.name.casefold(), place.code.casefold()))
    found = next(named, None)
    if found is not None:
        return found
    alike = places_alike(typed)
    return alike[0] if len(alike) == 1 else None


def places_alike(typed: str) -> tuple[Place, ...]:
    """List the parts of countries that have this name of their own."""
    wanted = typed.strip().casefold()
    return tuple(place for place in known_places() if place.name.casefold().partition(", ")[0] == wanted)


def closed_days_after(code: str, day: date, n_days: int) -> list[tuple[date, str]]:
    """List the next public holidays of a place that close a working day, with the names they have in the data."""
    calendar = working_calendar([code])
    known_until = min(calendar.years_known[1], day.year + _FAR_YEARS)
    found: list[tuple[date, str]] = []
    for year in range(day.year, known_until + 1):
        kept = _holidays_of(calendar.places[0], year, True)
        closed = sorted((on, str(name)) for on, name in kept.items() if on > day and calendar.kind(on) == "holiday")
        found += closed
        if len(found) >= n_days:
            break
    return found[:n_days]


#: The whole keeps fewer days than any of its parts: without one, England's Easter Monday and late-summer bank holiday
#: would be worked, which no contract means.
ASKS_PART = frozenset({"GB"})


def parts_of(code: str) -> tuple[Place, ...]:
    """List the parts of a country whose holidays are known apart from the country's."""
    return _places_in(code)[1:]


def place_name(code: str) -> str:
    """Name a place as people do; a code that is not known stands for itself."""
    return next((place.name for place in _places_in(code.partition("-")[0].upper()) if place.code == code), code)


def zone_name(zone: str) -> str:
    """Name a time zone by its city first: "London, Europe"."""
    return ", ".join(reversed(zone.replace("_", " ").split("/")))


@lru_cache(maxsize=256)
def _places_in(country: str) -> tuple[Place, ...]:
    name = _COUNTRY_NAMES.get(country)
    if name is None:
        return ()
    kept = holidays.country_holidays(country)
    # Where a part has names in several languages, the one that stands first is kept.
    names = {part: words for words, part in reversed(getattr(kept, "subdivisions_aliases", {}).items())}
    parts = [Place(f"{country}-{part}", f"{names.get(part, part)}, {name}") for part in kept.subdivisions]
    return Place(country, name), *parts


def _as_known(code: str) -> str:
    """Write a code as the holiday data does: it spells some parts of a country out ("DE-Augsburg")."""
    upper = code.upper()
    country, _, part = upper.partition("-")
    if len(part) <= _LONGEST_SHORT_PART:
        return upper
    return next((place.code for place in _places_in(country) if place.code.upper() == upper), upper)


def _spaced(name: str) -> str:
    return "".join(f" {c}" if c.isupper() and i and not name[i - 1].isupper() else c for i, c in enumerate(name))


#: The parts of ISO 3166-2 have three letters or figures at most.
_LONGEST_SHORT_PART = 3

#: No place keeps fewer than one public holiday a year on a working day.
_FAR_YEARS = 12

_COUNTRY_NAMES = {classes[1]: _spaced(classes[0]) for classes in COUNTRIES.values()}


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
            raise Refused("unknown-place", place=code) from unknown
        # The default language follows the machine's locale, and a statement must read the same everywhere.
        return keep(language="en_US") if "en_US" in known.supported_languages else known


@lru_cache(maxsize=4096)
def _year(calendar: Calendar, year: int) -> bytes:
    """Sort the days of one year: an index into ``_KINDS`` for each."""
    kept = [(code, _holidays_of(code, year, calendar.observed)) for code in calendar.places]
    start = date(year, 1, 1)
    kinds = bytearray()
    for n in range((date(year + 1, 1, 1) - start).days):
        day = start + timedelta(n)
        kinds.append(_KINDS.index(_kind(calendar, kept, day)))
    return bytes(kinds)


@lru_cache(maxsize=256)
def _table(calendar: Calendar, first: int, last: int) -> _Table:
    kinds = b"".join(_year(calendar, year) for year in range(first, last + 1))
    start = date(first, 1, 1).toordinal()
    return _Table(
        years=(first, last),
        start=start,
        kinds=kinds,
        working=tuple(accumulate(int(kind == 0) for kind in kinds)),
        resting=tuple(accumulate(int(kind == 1) for kind in kinds)),
        paused=tuple(accumulate(int(kind == 3) for kind in kinds)),
        days=tuple(start + n for n, kind in enumerate(kinds) if kind == 0),
    )


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
    if day in calendar.shut or (on_holiday and day not in calendar.worked):
        return "holiday"
    return "paused" if day in calendar.paused else "working"
