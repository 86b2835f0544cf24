"""Silence that counts as approval: which hand-ins it concerns today, where the terms say so.

Some contracts count an answer that does not come in time as an approval. It never comes as a
surprise: the art director is warned first, and has at least one whole working day after the warning.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from reviews.rules.contract.days import add_working_days, working_days_between
from reviews.rules.contract.statement import PassageLine, Statement
from reviews.rules.states import Deed, Side

#: Working days before its day on which the art director is warned.
WARN_DAYS = 3


@dataclass(frozen=True)
class Silence:
    """What the portal owes one hand-in today: the warning, or the approval; ``silent_on`` is the day that decides."""

    passage: int
    deed: Deed
    silent_on: date


def silences(statement: Statement) -> list[Silence]:
    """List what silence asks of the portal on the day of a statement, in page order; nothing on a day of a pause."""
    if statement.pause_now is not None:
        return []
    found = (_silence(line, statement) for line in statement.lines)
    return [one for one in found if one is not None]


def _silence(line: PassageLine, statement: Statement) -> Silence | None:
    turn = line.turns[-1] if line.turns else None
    if turn is None or turn.silence_on is None:
        return None
    if turn.announced_on is not None:
        is_over = statement.as_of > turn.silence_on
        return Silence(line.passage, Deed.APPROVE_BY_SILENCE, turn.silence_on) if is_over else None
    calendar = statement.terms.calendar_of(Side.PUBLISHER)
    if working_days_between(statement.as_of, turn.silence_on, calendar) > WARN_DAYS:
        return None
    # A warning that comes late, because the portal was switched off, still leaves a working day to answer.
    silent_on = max(turn.silence_on, add_working_days(statement.as_of, 1, calendar))
    return Silence(line.passage, Deed.ANNOUNCE_SILENCE, silent_on)
