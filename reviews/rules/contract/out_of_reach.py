"""What can no longer be done by the book's last day, even if everybody keeps every day from now on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from reviews.rules.contract.calendars import Calendar
from reviews.rules.contract.days import (
    ONE_DAY,
    add_working_days,
    days_on,
    on_or_after,
    on_or_before,
    working_days_between,
)
from reviews.rules.contract.fixed_dates import fixed_on
from reviews.rules.contract.left_to_do import left_by_spread
from reviews.rules.contract.periods import DayUnit
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.timeline import PassageStory, Story
from reviews.rules.contract.turn import Turn
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import Answer, Gate, PassageState, Refused, Side

#: No contract gives one spread longer, all its stages and answers together; our own bound, far beyond practice.
MOST_YEARS_A_SPREAD = 5

_DONE = (PassageState.APPROVED, PassageState.PASSED)


@dataclass(frozen=True, kw_only=True)
class CannotMeet:
    """A spread that can no longer be done by the final date, even if everybody keeps every day from now on.

    `since_on` is the first day on which that was so; where it was so when the turn that runs was given, that day, be it
    before work starts. Both sides are told on it.
    """

    spread: int
    label: str
    final_on: date
    earliest_on: date
    since_on: date
    waits_for: Side
    entries: tuple[int, ...] = ()


def cannot_meet(
    story: Story,
    terms: Terms,
    turns: Mapping[int, Sequence[Turn]],
    final_on: date,
    today: date,
) -> list[CannotMeet]:
    """Name every spread that cannot be done by the final date any more, from the day on which that became
    so."""
    found = (_cannot(left, terms, turns[left[0].passage], final_on, today) for left in left_by_spread(story))
    return [told for told in found if told is not None]


def check_end(story: Story, terms: Terms, today: date) -> None:
    """Refuse terms by whose days a spread would end so late that only a slip of the finger can mean it.

    Terms that merely miss the book's last day are entered: they are what both sides signed, perhaps on a book that is
    late already, and what cannot be met is told to both on the same day. Only the version that is being entered is
    judged, so that one entered earlier can always be mended by the next.

    Raises
    ------
    Refused
        ``terms-end-far-off``
    """
    begins_on = max(today, terms.from_on)
    for left in left_by_spread(story):
        ends_on = _walked(
            begins_on, [step for passage_story in left for step in _steps_left(passage_story, terms, None)], terms
        )
        if ends_on.year - begins_on.year > MOST_YEARS_A_SPREAD:
            label, most = left[0].spread.label, MOST_YEARS_A_SPREAD
            raise Refused("terms-end-far-off", spread=label, begins_on=begins_on, ends_on=ends_on, most=most)


class _Step(NamedTuple):
    """Days of a side that a spread still takes; negative ones lead back. ``calendar`` is the printer's, of its days.

    ``ends_on`` is the date with which they end where they begin before it, as the terms fix it.
    """

    side: Side
    n_days: int
    unit: DayUnit = DayUnit.WORKING
    calendar: Calendar | None = None
    ends_on: date | None = None


def _cannot(
    left: Sequence[PassageStory], terms: Terms, own: Sequence[Turn], final_on: date, today: date
) -> CannotMeet | None:
    first = left[0]
    held = own[-1] if own and own[-1].is_open else None
    # What the printer makes, the publisher hands in.
    maker = Side.PUBLISHER if first.stage in PRINTERS_STAGES else Side.ILLUSTRATOR
    from_on, waits_for = (held.from_on, held.side) if held else (today, maker)
    calendar = terms.calendar_of(waits_for)
    allowed = (held.allowed or 0) if held else 0
    # Nobody can be hurried below the days the terms give; only the days of the turn that runs are partly
    # spent.
    rest = [step for story in left for step in _steps_left(story, terms, held if story is first else None)]
    spent = max(0, working_days_between(from_on, today, calendar))
    earliest = _walked(max(today, from_on), [_Step(waits_for, max(0, allowed - spent)), *rest], terms)
    # What arrives on a day on which the printer is closed arrives too late for it.
    printed_on = on_or_before(final_on, terms.printer_calendar) if terms.printer_calendar else final_on
    last_on = on_or_before(printed_on, terms.calendar_of(rest[-1].side if rest else waits_for))
    if earliest <= last_on:
        return None
    last_chance = _walked(last_on, [step._replace(n_days=-step.n_days) for step in reversed(rest)], terms)
    in_time_at_first = _walked(from_on, [_Step(waits_for, allowed), *rest], terms) <= last_on
    given_on = min(from_on, _given_on(first, held, terms)) if held else from_on
    since_on = on_or_after(last_chance + ONE_DAY, calendar) if in_time_at_first else given_on
    return CannotMeet(
        spread=first.spread.spread,
        label=first.spread.label,
        final_on=last_on,
        earliest_on=earliest,
        since_on=min(since_on, today),
        waits_for=waits_for,
        entries=tuple(sorted({story.laid_out_by for story in left} | set(held.entries if held else ()))),
    )


def _given_on(story: PassageStory, held: Turn, terms: Terms) -> date:
    """Name the day on which the turn that runs was given: a book may be laid out long before work starts."""
    began = next(event for event in story.events if event.seq == held.entries[0])
    return terms.day_rule.local_date(began.at)


def _walked(day: date, steps: Iterable[_Step], terms: Terms) -> date:
    """Step from a day through the days of each side, by its own calendar."""
    for side, n_days, unit, own, ends_on in steps:
        calendar = own or terms.calendar_of(side)
        if ends_on is not None and n_days >= 0 and day < ends_on:
            day = ends_on
        elif ends_on is not None and n_days <= 0 and day >= ends_on:
            # Whoever begins on the day before still ends with the date; later, the days count.
            day = max(ends_on - ONE_DAY, _walked(day, [_Step(side, n_days, unit, own)], terms))
        elif n_days and unit == DayUnit.WORKING:
            day = add_working_days(day, n_days, calendar)
        elif n_days:
            reached = days_on(day, n_days, calendar)
            day = on_or_after(reached, calendar) if n_days > 0 else on_or_before(reached, calendar)
    return day


def _steps_left(story: PassageStory, terms: Terms, held: Turn | None) -> list[_Step]:
    """List the days a passage still takes after the turn that runs, if one does."""
    line = terms.days_for(story.spread.part, story.stage)
    if line is None:
        return []
    is_again = any(event.data.get("answer") == Answer.ASK for event in story.events)
    n_days = line.days_for(Side.PUBLISHER, is_again=is_again) if story.gate == Gate.ANSWERS else 0
    part, stage = story.spread.part, story.stage
    first = None if is_again or story.gate != Gate.ANSWERS else fixed_on(terms, part, stage, Side.PUBLISHER)
    answers = [_Step(Side.PUBLISHER, n_days, line.unit, None, first)]
    if held is None:
        due_on = fixed_on(terms, part, stage, Side.ILLUSTRATOR)
        return [_Step(Side.ILLUSTRATOR, line.hand_in_days, line.unit, terms.maker_calendar(stage), due_on), *answers]
    return answers if held.side == Side.ILLUSTRATOR else []
