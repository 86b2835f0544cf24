"""How long each side has at a stage, for a first version or a revision; and when silence counts there.

Contracts give less time for a revision than for a first version, and often less for a second look.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

from reviews.rules.contract.calendars import Calendar
from reviews.rules.contract.days import DayRule, last_day, period_end
from reviews.rules.contract.fees_text import maybe, whole
from reviews.rules.states import Side


class DayUnit(StrEnum):
    """What a number of days counts: the side's working days, or every day of the calendar."""

    WORKING = "working"
    CALENDAR = "calendar"


@dataclass(frozen=True)
class FirstDays:
    """Days to hand in a first version at one stage, and to answer it."""

    stage: str
    hand_in_days: int
    answer_days: int
    part: str = ""


@dataclass(frozen=True, kw_only=True)
class StageDays(FirstDays):
    """All days of one stage.

    redo_days         days for a version after changes were asked for; None: as for the first
    second_look_days  days to answer such a version; None: as for the first
    unit              whether all of these are working days or calendar days; the last is a working day either way
    hand_in_on        a date for the first version, in place of its days, as long as the stage opens before it
    answer_on         the same for the answer to the first version
    """

    redo_days: int | None = None
    second_look_days: int | None = None
    unit: DayUnit = DayUnit.WORKING
    hand_in_on: date | None = None
    answer_on: date | None = None

    def fixed_for(self, side: Side) -> date | None:
        """Give the date of a side's first turn, where one is fixed; see ``fixed_dates``."""
        return self.answer_on if side == Side.PUBLISHER else self.hand_in_on

    def differs_again(self, side: Side) -> bool:
        """Say whether a version after changes were asked for has other days, or no fixed date, of a side."""
        again = self.second_look_days if side == Side.PUBLISHER else self.redo_days
        return again is not None or self.fixed_for(side) is not None

    def days_for(self, side: Side, *, is_again: bool) -> int:
        """Give the days of a side, for the first version or for one after changes were asked for."""
        first, again = (
            (self.answer_days, self.second_look_days) if side == Side.PUBLISHER else (self.hand_in_days, self.redo_days)
        )
        return again if is_again and again is not None else first


@dataclass(frozen=True)
class StageSilence:
    """When silence counts as approval at one stage: after so many days, or never (None), whatever the rest says."""

    stage: str
    days: int | None
    unit: DayUnit = DayUnit.WORKING
    part: str = ""


def end_of(received: date, n_days: int, unit: DayUnit, rule: DayRule, calendar: Calendar) -> date:
    """Find the last day of a period; a closed last day of calendar days runs to the next working day.

    That is how article 3 of Regulation (EEC, Euratom) No 1182/71 and rule 6(a)(1) of the US Federal Rules of Civil
    Procedure end a period.
    """
    if unit == DayUnit.WORKING:
        return last_day(received, n_days, rule, calendar)
    return period_end(received, max(0, n_days - 1) if rule.counts_receipt else n_days, calendar)


def stage_text(line: StageDays) -> dict[str, Any]:
    """Write a line of days as plain JSON values."""
    fixed = {"hand_in_on": line.hand_in_on, "answer_on": line.answer_on}
    return vars(line) | {"unit": line.unit.value} | {name: on.isoformat() if on else None for name, on in fixed.items()}


def stage_from_text(line: Mapping[str, Any]) -> StageDays:
    """Read a line back; versions of before had working days, and the same for every version of a drawing."""
    redo, second = line.get("redo_days"), line.get("second_look_days")
    return StageDays(
        str(line["stage"]),
        whole(line["hand_in_days"]),
        whole(line["answer_days"]),
        str(line.get("part", "")),
        redo_days=None if redo is None else whole(redo),
        second_look_days=None if second is None else whole(second),
        unit=DayUnit(line.get("unit", DayUnit.WORKING)),
        hand_in_on=maybe(date.fromisoformat, line.get("hand_in_on")),
        answer_on=maybe(date.fromisoformat, line.get("answer_on")),
    )


def silence_text(line: StageSilence) -> dict[str, Any]:
    """Write a stage's silence as plain JSON values."""
    return vars(line) | {"unit": line.unit.value}


def silence_from_text(line: Mapping[str, Any]) -> StageSilence:
    """Read a stage's silence back."""
    days = line["days"]
    return StageSilence(
        str(line["stage"]), None if days is None else whole(days), DayUnit(line["unit"]), str(line["part"])
    )
