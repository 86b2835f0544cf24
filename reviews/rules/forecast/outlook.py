"""What a forecast is asked, and what it answers: plain values, so that a screen can read one without simulating."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from reviews.rules.contract.calendars import Calendar
from reviews.rules.states import Side


class SupposedChange(StrEnum):
    """What a forecast is asked to suppose."""

    ANSWERED_TODAY = "answered-today"
    PUBLISHER_IN_TIME = "publisher-in-time"
    ILLUSTRATOR_IN_TIME = "illustrator-in-time"


@dataclass(frozen=True, kw_only=True)
class Setting:
    """What stands fixed in every future: today, both calendars, and how often letters go (working days; 1: any day).

    `answered_today` names spreads whose letter goes today, for the question what that would change.
    """

    today: date
    hands: Calendar
    desk: Calendar
    letters_every: int = 1
    target_on: date | None = None
    answered_today: frozenset[int] = frozenset()


@dataclass(frozen=True, kw_only=True)
class SpreadOutlook:
    """One spread: when it is done, and what it costs the hands in working days (drawing, waiting for its answers)."""

    spread: int
    label: str
    p50_on: date
    p80_on: date
    drawing_days: float
    planned_days: float
    waiting_days: float

    @property
    def over_days(self) -> float:
        """Give the working days it costs beyond the plan."""
        return self.drawing_days - self.planned_days + self.waiting_days


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """The forecast of a book.

    chance           of being done by the target; None without one
    illustrator_over working days of drawing beyond the plan, on average; publisher_over those the hands lay idle
                     or the book waited at its end for an answer
    n_cases          of how many past cases first versions, redone ones, answers and rounds were drawn (0: estimated)
    is_cut_off       some futures lie beyond the horizon, so the late date is a lower limit
    """

    today: date
    p50_on: date
    p80_on: date
    target_on: date | None
    chance: float | None
    spreads: tuple[SpreadOutlook, ...]
    illustrator_over: float
    publisher_over: float
    n_futures: int
    seed: int
    n_cases: tuple[int, int, int, int]
    is_cut_off: bool = False

    @property
    def has_cases(self) -> bool:
        """Say whether anything in it was drawn from what has happened in this book."""
        return any(self.n_cases)

    @property
    def compares_sides(self) -> bool:
        """Say whether there are past cases of both sides: an estimate of one is no case against it."""
        first, redo, answer, _ = self.n_cases
        return bool((first or redo) and answer)

    @property
    def costliest_spread(self) -> SpreadOutlook | None:
        """Find the spread that costs most working days beyond the plan."""
        return max(self.spreads, key=lambda told: told.over_days, default=None)

    @property
    def costliest_side(self) -> Side:
        """Say which side costs more working days beyond the plan."""
        return Side.ILLUSTRATOR if self.illustrator_over > self.publisher_over else Side.PUBLISHER


@dataclass(frozen=True, kw_only=True)
class WhatIf:
    """What one change would do to both dates, in calendar days (negative: earlier).

    ``n_waiting`` is how many spreads wait for an answer, where the change is that they get it.
    """

    change: SupposedChange
    p50_on: date
    p80_on: date
    p50_days: int
    p80_days: int
    chance: float | None
    n_waiting: int = 0
