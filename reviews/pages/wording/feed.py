"""What a due date is called in somebody's calendar."""

from __future__ import annotations

from django.utils.translation import gettext as _

from reviews.pages.wording.names import stage_in_a_sentence
from reviews.rules.due_events import FeedEvent


def summary_words(event: FeedEvent) -> str:
    """Name a pause by its book, a due date by its book, spread and stage, and by what is due."""
    if event.what == "pause":
        return _("{title}: paused").format(title=event.title)
    told = (
        _("{title}: {spread}, {stage} (hand-in)")
        if event.what == "hand-in"
        else _("{title}: {spread}, {stage} (answer)")
    )
    return told.format(
        title=event.title, spread=event.spread, stage=event.stage_name or stage_in_a_sentence(event.stage)
    )
