"""How often a book's letters go: answers come in batches, not one by one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import mean, median

from reviews.rules.contract.days import working_days_between
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.terms import TermsHistory
from reviews.rules.contract.timeline import Story
from reviews.rules.forecast.pace import ENOUGH_CASES, Pace, Pool, SpreadLeft
from reviews.rules.states import Deed, Side

#: A pause longer than this between two letters is a pause of the book, not a rhythm of the desk.
_LONGEST_RHYTHM_DAYS = 10


def letters_every(story: Story, terms: TermsHistory) -> int:
    """Find the usual working days between two letters; 1 (any day) where there were too few to tell."""
    receipts = Receipts(terms)
    sent = {
        receipts.written_on(event)
        for passage_story in story.passages.values()
        for event in passage_story.events
        if event.deed == Deed.SEND_LETTER
    }
    days = sorted(sent)
    if len(days) <= ENOUGH_CASES:
        return 1
    calendar = terms.versions[-1].calendar_of(Side.PUBLISHER)
    gaps = [working_days_between(before, after, calendar) for before, after in pairwise(days)]
    return max(1, min(_LONGEST_RHYTHM_DAYS, round(median(gaps))))


def without_batch_wait(pace: Pace, every: int, pieces: Sequence[SpreadLeft]) -> Pace:
    """Take the wait for the day of the letter off past answers, because the simulation adds it again.

    An answer that is ready waits (every - 1) / 2 working days on average for its letter. Estimates have no such
    wait in them and stay as they are.
    """
    allowed = [task.answer_days for piece in pieces for task in piece.tasks if task.answer_days]
    if every <= 1 or not pace.answer.n_cases or not allowed:
        return pace
    wait = (every - 1) / 2 / mean(allowed)
    values = tuple(max(0.0, value - wait) for value in pace.answer.values)
    return replace(pace, answer=Pool(values, pace.answer.n_cases))
