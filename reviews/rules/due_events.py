"""The due dates of one side as calendar events, each with a sequence that only ever goes up."""

from __future__ import annotations

from collections.abc import Collection
from datetime import UTC, datetime, time

from reviews.rules.feed import FeedEvent, uid_for
from reviews.rules.statement import PassageLine, Statement
from reviews.rules.terms import stage_words
from reviews.rules.timeline import Story
from reviews.rules.whose_days import Side

#: A date that is met stays in the feed as cancelled for this long, so that every calendar learns of it.
CANCELLED_DAYS = 30


def due_events(
    story: Story,
    drawn: Statement,
    sides: Collection[Side],
    *,
    book_key: str,
    person_key: str,
    title: str,
    url: str = "",
) -> list[FeedEvent]:
    """List the due dates of these sides; `url` may hold ``{passage}``.

    The sequence is the number of things that ever happened to the passage, with every late day that moved its date:
    both only grow, so each change of date has a higher one than before.
    """
    late_days = _late_days(drawn)
    events = []
    for line in drawn.lines:
        for side in sides:
            event = _event(story, drawn, line, side, late_days, (book_key, person_key, title, url))
            if event is not None:
                events.append(event)
    return events


def _late_days(drawn: Statement) -> dict[int, int]:
    """Add the publisher's late days up by spread; they move the later dates of the same spread."""
    late: dict[int, int] = {}
    for line in drawn.lines:
        late[line.spread.spread] = late.get(line.spread.spread, 0) + line.days.publisher_late
    return late


def _event(
    story: Story,
    drawn: Statement,
    line: PassageLine,
    side: Side,
    late: dict[int, int],
    names: tuple[str, str, str, str],
) -> FeedEvent | None:
    book_key, person_key, title, url = names
    happened = story.passages[line.passage].events
    turn = next((turn for turn in reversed(line.turns) if turn.side == side), None)
    is_theirs = turn is not None and turn.is_open
    on = line.due.current_on if side == Side.ILLUSTRATOR else turn.due_on if turn else None
    if on is None or (turn is None and side == Side.PUBLISHER):
        return None
    waits = side == Side.ILLUSTRATOR and turn is None  # not open yet, but it has a date already
    if not is_theirs and not waits and turn and (drawn.as_of - turn.until_on).days > CANCELLED_DAYS:
        return None
    what = "hand-in" if side == Side.ILLUSTRATOR else "answer"
    last = happened[-1].at if happened else story.last_at or datetime.combine(drawn.as_of, time(), UTC)
    return FeedEvent(
        uid_for(book_key, line.passage, what, person_key),
        on,
        f"{title}: {line.spread.label}, {stage_words(line.stage).lower()} ({what})",
        _description(line, what),
        len(happened) + late[line.spread.spread],
        last,
        is_cancelled=not is_theirs and not waits,
        url=url.replace("{passage}", str(line.passage)),
    )


def _description(line: PassageLine, what: str) -> str:
    moves = (
        [f"Moved to {move.to_on.isoformat()}: {move.words}." for move in line.due.moves] if what == "hand-in" else []
    )
    return "\n".join([f"Rounds left in the fee: {line.rounds.left}.", *moves])
