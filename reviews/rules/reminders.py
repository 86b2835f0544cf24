"""Who is to be reminded of what today: three working days ahead, on the day, and once when it is late.

A reminder has a key made of its cause, so that it is sent at least once and never twice: a sweep that missed a day
finds the same key the day after, and a date that moves makes a new one.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from reviews.rules.contract.days import working_days_between
from reviews.rules.contract.statement import PassageLine, Statement
from reviews.rules.states import Side

AHEAD_DAYS = 3


class Urgency(StrEnum):
    """How near a due date is."""

    AHEAD = "ahead"
    TODAY = "today"
    LATE = "late"


@dataclass(frozen=True, kw_only=True)
class Reminder:
    """One due date that its side is to be told of; `days` are the working days left, or late by.

    `where` names the passage as the ledger does.
    """

    key: str
    passage: int
    side: Side
    urgency: Urgency
    due_on: date
    days: int
    label: str
    stage: str


def reminders_of(statement: Statement) -> tuple[Reminder, ...]:
    """List what is due soon, today or late on the day of a statement, most urgent first; nothing in a pause."""
    if statement.pause_now is not None:
        return ()
    found = [told for line in statement.lines if (told := _reminder(line, statement)) is not None]
    return tuple(sorted(found, key=lambda told: (told.due_on, told.passage)))


def _reminder(line: PassageLine, statement: Statement) -> Reminder | None:
    if not line.turns or not line.turns[-1].is_open:
        return None
    turn = line.turns[-1]
    due_on = line.due.current_on if turn.side == Side.ILLUSTRATOR else turn.due_on
    if due_on is None:
        return None
    # Whoever has to do it counts the days on which they work.
    left = working_days_between(statement.as_of, due_on, statement.terms.calendar_of(turn.side))
    if left > AHEAD_DAYS:
        return None
    # A date on a closed day is over when that day is: no working day has passed, but it is late all the same.
    late = due_on < statement.as_of
    urgency = Urgency.LATE if late else Urgency.TODAY if due_on == statement.as_of else Urgency.AHEAD
    key = f"{line.passage}/{turn.side}/{due_on.isoformat()}/{urgency}"
    return Reminder(
        key=key,
        passage=line.passage,
        side=turn.side,
        urgency=urgency,
        due_on=due_on,
        days=abs(left),
        label=line.spread.label,
        stage=line.stage,
    )
