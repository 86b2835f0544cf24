"""Open passages: the one place that knows which stage comes after which."""

from __future__ import annotations

from datetime import date, datetime

from reviews.models import Passage, Stage
from reviews.rules.days import add_working_days
from reviews.rules.states import PassageState


def next_passage(passage: Passage) -> Passage | None:
    """Find the same spread at the following stage of its plan."""
    return (
        Passage.objects.select_related("stage", "spread")
        .filter(spread_id=passage.spread_id, stage__position__gt=passage.stage.position)
        .order_by("stage__position")
        .first()
    )


def is_closed(passage: Passage | None) -> bool:
    return passage is not None and passage.state == PassageState.CLOSED


def open_passage(passage: Passage, now: datetime) -> None:
    """Give a passage to the illustrator. Its due date stays the planned one unless somebody moves it."""
    passage.state = PassageState.DRAWING
    passage.opened_at = passage.held_since = now
    passage.save(update_fields=["state", "opened_at", "held_since"])


def answer_date(passage: Passage, today: date) -> date:
    """Work out by when the publisher answers something handed in today."""
    return add_working_days(today, passage.stage.answer_days, passage.book.calendar)


def redraw_date(stage: Stage, passage: Passage, today: date) -> date:
    """Work out by when a changed version is due: the stage's own days again, counted from the letter."""
    return add_working_days(today, stage.hand_in_days, passage.book.calendar)
