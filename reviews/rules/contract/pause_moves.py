"""The dates that a pause moves: those that fall in it or after it, of every stage that is not done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import NamedTuple

from reviews.rules.contract.pauses import PauseWord
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.terms import Terms, TermsHistory
from reviews.rules.contract.timeline import Story
from reviews.rules.contract.turn import Turn
from reviews.rules.contract.turn_dates import TurnDates
from reviews.rules.contract.turns import all_turns
from reviews.rules.states import Side

#: The date of a passage: its number, and "hand-in" or "answer".
DateKey = tuple[int, str]


class MovedDate(NamedTuple):
    """One date of a passage before and after an agreement on a pause."""

    passage: int
    which: str
    was_on: date
    due_on: date


def dates_moved(
    story: Story, terms: TermsHistory, word: PauseWord, stands: Mapping[DateKey, date], as_of: date
) -> list[MovedDate]:
    """Give the dates that an agreement moves, of those that stand; ``story`` is what happened before it.

    Each is moved by the calendar of whoever keeps it, the printer's for what it makes, under the terms with which its
    turn began.
    """
    receipts = Receipts(terms, story.told_by, [*story.pauses, word])
    turns = all_turns(story, Receipts(terms, story.told_by, story.pauses), as_of)
    found = []
    for (passage, which), was_on in stands.items():
        side = Side.PUBLISHER if which == "answer" else Side.ILLUSTRATOR
        made_at = story.passages[passage].stage if which == "hand-in" and passage in story.passages else ""
        dates = TurnDates(receipts, side, _held(turns.get(passage, ()), receipts.terms, as_of), made_at)
        due_on = dates.moved(was_on, word.seq)
        if due_on != was_on:
            found.append(MovedDate(passage, which, was_on, due_on))
    return found


def late_now(story: Story, terms: TermsHistory, as_of: date) -> dict[Side, int]:
    """Add up by side the days late of what is under way, over all passages."""
    turns = all_turns(story, Receipts(terms, story.told_by, story.pauses), as_of)
    running = [own[-1] for own in turns.values() if own and own[-1].is_open]
    return {side: sum(turn.late for turn in running if turn.side == side) for side in Side}


def _held(turns: Sequence[Turn], terms: TermsHistory, as_of: date) -> Terms:
    return terms.numbered(turns[-1].version) if turns and turns[-1].is_open else terms.on(as_of)
