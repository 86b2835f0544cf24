"""Pauses as calendar events: from the first to the last day, each with a sequence that only ever goes up."""

from __future__ import annotations

from datetime import date
from itertools import groupby

from reviews.rules.contract.pauses import PauseWord, in_force
from reviews.rules.contract.timeline import Story
from reviews.rules.due_events import CANCELLED_DAYS, FIRST, PER_ENTRY, FeedEvent, uid_for


def pause_events(
    story: Story, as_of: date, *, book_key: str, person_key: str, title: str, url: str = "", n_changes: int = 0
) -> list[FeedEvent]:
    """List a book's pauses, those called off not long ago as cancelled; ``n_changes`` counts what renamed them all.

    The reason is left out: it may be an illness, and whoever holds the address reads the calendar.
    """
    standing = {pause.number: pause for pause in in_force(story.pauses)}
    found = []
    for number, group in groupby(sorted(story.pauses, key=_number), key=_number):
        words = list(group)
        pause, last = standing.get(number), words[-1]
        until = next((word.last for word in reversed(words) if word.last), None)
        if last.at is None or (pause is None and (as_of - last.at.date()).days > CANCELLED_DAYS):
            continue
        found.append(
            FeedEvent(
                uid=uid_for(book_key, number, "pause", person_key),
                on=last.first,
                until=until,
                title=title,
                spread="",
                stage="",
                what="pause",
                sequence=FIRST + PER_ENTRY * (len(words) + n_changes),
                changed_at=last.at,
                is_cancelled=pause is None,
                url=url,
            )
        )
    return found


def _number(word: PauseWord) -> int:
    return word.pause
