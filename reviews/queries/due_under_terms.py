"""When something given now is due: by the entered terms where there are any, else by the stage plan."""

from __future__ import annotations

from datetime import date, datetime

from reviews.models import Book, Passage
from reviews.queries.statement import story_of
from reviews.queries.terms import history_of, part_for
from reviews.rules.contract.days import add_working_days, day_zero, last_day
from reviews.rules.contract.due_dates import due_dates_of
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.turns import all_turns
from reviews.rules.states import Side


def received_on(book: Book, held: Terms | None, at: datetime, receiver: Side) -> date:
    """Give the day on which something given at this moment counts as received, under the terms if there are any."""
    if held is None:
        return book.day_rule.local_date(at)
    return day_zero(at, held.day_rule, held.calendar_of(receiver))


def hand_in_due(passage: Passage, held: Terms | None, at: datetime) -> date:
    """Work out by when a passage given to the illustrator at a moment is due; needs book, spread, stage joined."""
    return _due(passage, held, at, Side.ILLUSTRATOR)


def opening_due(passage: Passage, held: Terms | None, at: datetime, *, moved: date | None = None) -> date:
    """Work out when a stage that opens now is due: as it stands, or its own days from now where that is later.

    Where the terms let the publisher's late days move the dates, they have moved this one first: ``moved`` is that
    date, looked up if it is not given (3 queries).
    """
    stands = passage.due_on
    if held is not None and held.publisher_late_moves:
        stands = max(stands, moved or _moved_by_lateness(passage, at) or stands)
    return max(stands, hand_in_due(passage, held, at))


def _moved_by_lateness(passage: Passage, at: datetime) -> date | None:
    history = history_of(passage.book)
    story = story_of(passage.book)
    receipts, as_of = Receipts(history), history.versions[0].day_rule.local_date(at)
    due = due_dates_of(story, receipts, all_turns(story, receipts, as_of), as_of).get(passage.pk)
    return due.current_on if due else None


def answer_due(passage: Passage, held: Terms | None, at: datetime) -> date:
    """Work out by when the publisher answers what is handed in at a moment; needs book, spread, stage joined."""
    return _due(passage, held, at, Side.PUBLISHER)


def _due(passage: Passage, held: Terms | None, at: datetime, receiver: Side) -> date:
    """Count by the terms that hold; a stage they do not name keeps the days of its plan."""
    which = "hand_in_days" if receiver == Side.ILLUSTRATOR else "answer_days"
    planned_days = getattr(passage.stage, which)
    day = received_on(passage.book, held, at, receiver)
    if held is None:
        return add_working_days(day, planned_days, passage.book.calendar)
    line = held.days_for(part_for(passage.spread), passage.stage.kind)
    return last_day(day, getattr(line, which) if line else planned_days, held.day_rule, held.calendar_of(receiver))
