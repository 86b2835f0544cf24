"""When something given now is due: by the entered terms where there are any, else by the stage plan."""

from __future__ import annotations

from datetime import date, datetime

from reviews.models import Book, LetterAnswer, Passage
from reviews.queries.statement import story_of
from reviews.queries.terms import history_of, part_for, terms_on
from reviews.rules.contract.days import add_working_days, day_zero, day_zero_after_silence
from reviews.rules.contract.due_dates import dates_after
from reviews.rules.contract.fixed_dates import fixed_on
from reviews.rules.contract.letter_cost import late_that_moves
from reviews.rules.contract.periods import DayUnit, end_of
from reviews.rules.contract.receipts import Receipts, given_back_on
from reviews.rules.contract.terms import Terms
from reviews.rules.states import Answer, Side


def received_on(book: Book, held: Terms | None, at: datetime, receiver: Side, *, silent_on: date | None = None) -> date:
    """Give the day on which something given at this moment counts as received, under the terms if there are any.

    Nothing does before the day on which work starts. ``silent_on`` is the day with whose end silence approved, where
    that gives it.
    """
    return max(_received_on(book, held, at, receiver, silent_on), book.start_on)


def _received_on(book: Book, held: Terms | None, at: datetime, receiver: Side, silent_on: date | None) -> date:
    if silent_on is not None and held is not None:
        return day_zero_after_silence(silent_on, held.day_rule.local_date(at), held.day_rule)
    if held is None:
        return book.day_rule.local_date(at)
    return day_zero(at, held.day_rule, held.calendar_of(receiver))


def hand_in_due(passage: Passage, held: Terms | None, at: datetime) -> date:
    """Work out by when a passage that is asked to change at a moment is due; needs book, spread, stage joined."""
    day = received_on(passage.book, held, at, Side.ILLUSTRATOR)
    return _due(passage, held, day, Side.ILLUSTRATOR, is_again=True)


def redo_due(passage: Passage, held: Terms | None, at: datetime) -> date:
    """Work out by when a changed version is due: by the stage's own days from the letter, or as it stood if later."""
    own = hand_in_due(passage, held, at)
    return own if held is not None and held.redo_from_letter else max(own, passage.due_on)


def late_if(passage: Passage, at: datetime, *, silent_on: date | None = None, is_taken_back: bool = False) -> int:
    """Count the days by which an answer given now moves later stages that are drawn already (3 queries)."""
    history, story = history_of(passage.book), story_of(passage.book)
    receipts = Receipts(history, story.told_by, story.pauses)
    return late_that_moves(story, receipts, passage.pk, at, silent_on=silent_on, is_taken_back=is_taken_back)


def opening_due(
    passage: Passage,
    held: Terms | None,
    at: datetime,
    *,
    moved: date | None = None,
    silent_on: date | None = None,
) -> date:
    """Work out when a stage that opens now is due: as it stands, or its own days from now where that is later.

    A date that the terms fix stands, as it may have been moved since, as long as the stage opens before it.
    Where the terms let the publisher's late days move the dates, they have moved this one first: ``moved`` is that
    date, looked up if it is not given (3 queries). ``silent_on`` is the day with whose end silence opened it.
    """
    stands = passage.due_on
    if held is not None:
        stands = max(stands, moved or _moved_by_lateness(passage, held, at, silent_on) or stands)
    begins_on = received_on(passage.book, held, at, Side.ILLUSTRATOR, silent_on=silent_on)
    if held is not None and _fixed_on(passage, held, Side.ILLUSTRATOR) is not None and begins_on < stands:
        return stands
    return max(stands, _due(passage, held, begins_on, Side.ILLUSTRATOR, is_again=False))


def back_due(passage: Passage, held: Terms | None, at: datetime) -> date:
    """Work out by when a passage is due whose spread came back at a moment: as it stands, or its own days from then.

    What was asked to change has the days of a revision, and no date that the terms fix (1 query more than an opening).
    """
    if was_asked(passage):
        return max(passage.due_on, hand_in_due(passage, held, at))
    return opening_due(passage, held, at)


def _moved_by_lateness(passage: Passage, held: Terms, at: datetime, silent_on: date | None) -> date | None:
    history = history_of(passage.book)
    if not any(version.publisher_late_moves for version in history.versions):
        return None
    ends_on = silent_on or given_back_on(at, held)
    story = story_of(passage.book)
    return dates_after(story, Receipts(history, story.told_by, story.pauses), ends_on).get(passage.pk)


def answer_due(passage: Passage, held: Terms | None, at: datetime) -> date:
    """Work out by when the publisher answers what is handed in at a moment; needs book, spread, stage joined.

    One query where the terms give a first answer a date, or a second look days of its own, else none.
    """
    line = held.days_for(part_for(passage.spread), passage.stage.kind) if held is not None else None
    is_again = line is not None and line.differs_again(Side.PUBLISHER) and was_asked(passage)
    day = received_on(passage.book, held, at, Side.PUBLISHER)
    fixed = None if is_again or held is None else _fixed_on(passage, held, Side.PUBLISHER)
    if fixed is not None and day < fixed:
        return fixed
    return _due(passage, held, day, Side.PUBLISHER, is_again=is_again)


def is_fixed(passage: Passage) -> bool:
    """Say whether the terms by which a passage opened fix the date of its first version, not drawn yet (2 queries)."""
    held = terms_on(passage.book, passage.opened_at) if passage.opened_at else None
    return held is not None and _fixed_on(passage, held, Side.ILLUSTRATOR) is not None and not was_asked(passage)


def _fixed_on(passage: Passage, held: Terms, side: Side) -> date | None:
    return fixed_on(held, part_for(passage.spread), passage.stage.kind, side)


def was_asked(passage: Passage) -> bool:
    """Say whether a letter that went has asked for changes here (1 query)."""
    asked = LetterAnswer.objects.filter(passage=passage, answer=Answer.ASK)
    return asked.exclude(letter__sent_at=None).exists()


def _due(passage: Passage, held: Terms | None, day: date, receiver: Side, *, is_again: bool) -> date:
    """Count by the terms that hold; a stage they do not name keeps the days of its plan."""
    which = "hand_in_days" if receiver == Side.ILLUSTRATOR else "answer_days"
    planned_days = getattr(passage.stage, which)
    if held is None:
        return add_working_days(day, planned_days, passage.book.calendar)
    line = held.days_for(part_for(passage.spread), passage.stage.kind)
    n_days = line.days_for(receiver, is_again=is_again) if line else planned_days
    unit = line.unit if line else DayUnit.WORKING
    is_made = receiver == Side.ILLUSTRATOR
    calendar = held.maker_calendar(passage.stage.kind) if is_made else held.calendar_of(receiver)
    return end_of(day, n_days, unit, held.day_rule, calendar)
