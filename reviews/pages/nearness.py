"""How near the date is that counts for a passage now, in a tone and in words: on the desk, the map and the table."""

from __future__ import annotations

from datetime import date

from django.utils import timezone
from django.utils.translation import gettext as _

from reviews.models import Passage
from reviews.models.books import StandingPause
from reviews.pages.table_shapes import DueWords
from reviews.pages.wording.due_dates import ahead_words, late_words, passed_words
from reviews.pages.wording.pauses import paused_due_words
from reviews.rules.contract.days import working_days_between
from reviews.rules.contract.receipts import late_days
from reviews.rules.hands import is_with_printer
from reviews.rules.states import PassageState, Side, StageKind


def due_words(passage: Passage) -> DueWords:
    """Say whether the date that counts now is late, near or far; needs book joined."""
    if passage.state == PassageState.ANSWERING:
        day, is_answer = passage.answer_due_on, True
    elif passage.state == PassageState.DRAWING:
        day, is_answer = passage.due_on, False
    else:
        return {"due_tone": "", "due_words": _("planned")}
    book, side = passage.book, Side.PUBLISHER if passage.state == PassageState.ANSWERING else Side.ILLUSTRATOR
    today = book.day_rule.local_date(timezone.now())
    # The terms of the day on which it changed hands govern it, as they do in the statement.
    given_on = book.day_rule.local_date(passage.held_since) if passage.held_since else None
    calendar = book.calendar_of(side, given_on)
    if day is None:
        return {"due_tone": "", "due_words": ""}
    if is_with_printer(StageKind(passage.stage.kind), PassageState(passage.state)):
        return {"due_tone": "", "due_words": _("expected from the printer")}  # late or not, it is neither side's day
    if (pause := book.pause_on(today)) is not None:
        return _paused(pause, day, is_answer=is_answer)
    if day < today:
        n = late_days(day, today, calendar, grace=book.grace_of(side, given_on))
        if not n:  # a date of Friday on a Saturday: it has passed, and no working day with it
            return {"due_tone": "late", "due_words": passed_words(day, is_answer=is_answer)}
        return {"due_tone": "late", "due_words": late_words(n, is_answer=is_answer)}
    n = working_days_between(today, day, calendar)
    return {"due_tone": "soon" if n <= 3 else "", "due_words": ahead_words(n, is_answer=is_answer)}


def _paused(pause: StandingPause, day: date, *, is_answer: bool) -> DueWords:
    """Say that the work rests today: what was late before stays so, and nothing grows later."""
    last, was_late = date.fromisoformat(pause["last"]), day.isoformat() < pause["first"]
    words = paused_due_words(last, is_answer=is_answer, was_late=was_late)
    return {"due_tone": "late" if was_late else "", "due_words": words}
