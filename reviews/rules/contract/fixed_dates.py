"""Dates that the terms fix for a first version and for the answer to it, in place of a number of days.

"Sketches are due on 1 March, final art on 1 September": such a date holds for the first version alone, as long as the
stage opens (or the first version comes in) before it. What opens on that day or later has the stage's days instead, as
a revision and a second look have. On a closed day it runs to the next working day, or stands, as the terms say.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import NamedTuple

from reviews.rules.contract.days import on_or_after
from reviews.rules.contract.periods import StageDays, end_of
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.timeline import PassageStory, Story
from reviews.rules.contract.turn import Turn
from reviews.rules.states import Answer, PassageState, Side


class FixedDate(NamedTuple):
    """A date of a passage that terms set when they are agreed to; ``which`` as in a move."""

    passage: int
    which: str
    due_on: date


def fixed_on(terms: Terms, part: str, stage: str, side: Side) -> date | None:
    """Give the date fixed for a side's first turn at a stage, as it counts where it lies on a closed day."""
    line = terms.days_for(part, stage)
    day = line.fixed_for(side) if line is not None else None
    if day is None or not terms.fixed_runs_on:
        return day
    return on_or_after(day, terms.maker_calendar(stage) if side == Side.ILLUSTRATOR else terms.calendar_of(side))


def first_end(terms: Terms, part: str, stage: str, side: Side, received_on: date) -> date | None:
    """Find the last day of a first turn that begins on a day; None for a stage the terms do not name."""
    line = terms.days_for(part, stage)
    if line is None:
        return None
    fixed = fixed_on(terms, part, stage, side)
    if fixed is not None and received_on < fixed:
        return fixed
    n_days = line.days_for(side, is_again=False)
    return end_of(received_on, n_days, line.unit, terms.day_rule, terms.calendar_of(side))


def dates_set(
    story: Story, before: Terms | None, after: Terms, running: Mapping[int, Sequence[Turn]]
) -> list[FixedDate]:
    """List the dates that change with a version of the terms: those of first versions and first answers to come.

    ``before`` is the version it amends; None for the first one, under which what runs is counted anew anyhow.
    """
    found = []
    for told in story.in_order():
        side = _awaited(told)
        own = running.get(told.passage, ())
        if side is None or (before is None and own and own[-1].is_open):
            continue
        now = fixed_on(after, told.spread.part, told.stage, side)
        if now is None or (own and own[-1].is_open and own[-1].from_on >= now):
            continue  # what begins on the date or later has the days of its stage
        if _differs(before, after, told, side):
            found.append(FixedDate(told.passage, "answer" if side == Side.PUBLISHER else "hand-in", now))
    return found


def dates_freed(story: Story, before: Terms, after: Terms) -> list[tuple[FixedDate, date]]:
    """List the planned dates of closed stages for which a version fixes no date any more, each with the one it was.

    What is under way keeps the date it was given.
    """
    found = []
    for told in story.in_order():
        was = fixed_on(before, told.spread.part, told.stage, Side.ILLUSTRATOR)
        now = fixed_on(after, told.spread.part, told.stage, Side.ILLUSTRATOR)
        if was is not None and now is None and told.state == PassageState.CLOSED and told.planned_on is not None:
            found.append((FixedDate(told.passage, "hand-in", told.planned_on), was))
    return found


def first_over(before: Terms, after: Terms, today: date) -> tuple[StageDays, date] | None:
    """Find a date that a version newly fixes though it is over: a slip of the year makes what runs late at once."""
    for line in after.stages:
        was = before.days_for(line.part, line.stage)
        for side in Side:
            on = line.fixed_for(side)
            if on is not None and on < today and (was is None or was.fixed_for(side) != on):
                return line, on
    return None


def fixes_other(before: Terms | None, after: Terms, part: str, stage: str) -> bool:
    """Say whether another date is fixed for a first version at a stage, or none any more."""
    was = fixed_on(before, part, stage, Side.ILLUSTRATOR) if before is not None else None
    return was != fixed_on(after, part, stage, Side.ILLUSTRATOR)


def sets_other_dates(before: Terms, after: Terms) -> bool:
    """Say whether a version fixes a date that the one before did not, or fixes one no more."""
    lines = {(line.part, line.stage) for terms in (before, after) for line in terms.stages}
    return any(
        any(_named(terms, part, stage, side) for terms in (before, after))
        and _changed(before, after, part, stage, side)
        for part, stage in lines
        for side in Side
    )


def _named(terms: Terms, part: str, stage: str, side: Side) -> date | None:
    line = terms.days_for(part, stage)
    return line.fixed_for(side) if line is not None else None


def _awaited(told: PassageStory) -> Side | None:
    """Name whose first turn is to come or runs; None where changes were asked for, or it is done."""
    if any(event.data.get("answer") == Answer.ASK for event in told.events):
        return None
    held = {PassageState.CLOSED: Side.ILLUSTRATOR, PassageState.DRAWING: Side.ILLUSTRATOR}
    return {**held, PassageState.ANSWERING: Side.PUBLISHER}.get(told.state)


def _differs(before: Terms | None, after: Terms, told: PassageStory, side: Side) -> bool:
    return before is None or _changed(before, after, told.spread.part, told.stage, side)


def _changed(before: Terms, after: Terms, part: str, stage: str, side: Side) -> bool:
    """Say whether another date is fixed, or the same is to be taken otherwise on a closed day."""
    was, now = before.days_for(part, stage), after.days_for(part, stage)
    if now is None or was is None or was.fixed_for(side) != now.fixed_for(side):
        return True
    rule_changed = before.fixed_runs_on != after.fixed_runs_on
    return rule_changed and fixed_on(before, part, stage, side) != fixed_on(after, part, stage, side)
