"""The due dates of one side as calendar events, each with a sequence that only ever goes up."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time

from reviews.rules.contract.statement import PassageLine, Statement
from reviews.rules.contract.timeline import Event, PassageStory, Story
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import Deed, Gate, Side, Sight

#: A date that is met stays in the feed as cancelled for this long, so that every calendar learns of it.
CANCELLED_DAYS = 30

#: What one ledger entry lifts a sequence by: more than the late days that an entry could take back.
PER_ENTRY = 1000

#: Where sequences begin. They once counted entries that not everybody may know of; none may fall below what it was.
FIRST = 10_000_000


@dataclass(frozen=True, kw_only=True)
class FeedEvent:
    """One due date as a calendar shows it.

    uid         the same for ever, and free of anything personal (RFC 7986, 5.3)
    what        "hand-in" or "answer", of the spread at the stage; "pause" of the whole book, up to and with ``until``
    stage_name  what its book calls the stage inside a sentence, where that is not the usual name
    sequence    goes up at every change of date or meaning, and counts nothing that its reader may not know of
    changed_at  when it last changed; aware
    """

    uid: str
    on: date
    title: str
    spread: str
    stage: str
    what: str
    sequence: int
    changed_at: datetime
    is_cancelled: bool = False
    url: str = ""
    until: date | None = None
    stage_name: str = ""


def uid_for(book_key: str, passage: int, what: str, person_key: str) -> str:
    """Make the UID of a due date: a digest, so that it tells nothing about people or books."""
    digest = hashlib.sha256(f"{book_key}\n{passage}\n{what}\n{person_key}".encode()).hexdigest()[:32]
    return f"{digest[:8]}-{digest[8:12]}-{digest[12:16]}-{digest[16:20]}-{digest[20:]}"


def events_of(
    story: Story,
    statement: Statement,
    sides: Collection[Side],
    *,
    book_key: str,
    person_key: str,
    title: str,
    url: str = "",
    n_terms: int = 0,
    reader: Sight = Sight.ALL,
) -> list[FeedEvent]:
    """List the due dates of these sides; ``url`` may hold ``{passage}``, ``n_terms`` is how often terms were entered.

    A date depends on what happened to its spread up to its stage, on the terms, and on the publisher's late days. The
    sequence adds these up so that it never falls: late days grow by themselves, and where an entry takes some back (an
    answer's date was moved), that entry counts for more. ``reader`` is the side whose own affairs count too.
    """
    n_terms += statement.terms.version
    past, names = _past(story, statement, n_terms, reader), (book_key, person_key, title, url)
    told = ((line, side) for line in statement.every_line for side in sides)
    events = (_event(statement, line, side, past[line.passage], names) for line, side in told)
    return [event for event in events if event is not None]


def gone_events(
    story: Story,
    as_of: date,
    *,
    book_key: str,
    person_key: str,
    title: str,
    n_terms: int = 0,
    reader: Sight = Sight.ALL,
) -> list[FeedEvent]:
    """List the illustrator's dates of stages and spreads that were taken away not long ago, as cancelled.

    ``n_terms`` as for `events_of`, with the version that holds added; hidden stages for the illustrator alone.
    """
    return [
        FeedEvent(
            uid=uid_for(book_key, passage_story.passage, "hand-in", person_key),
            on=on,
            title=title,
            spread=passage_story.spread.label,
            stage=passage_story.stage,
            what="hand-in",
            sequence=FIRST + PER_ENTRY * (1 + n_terms + _n_entries(story, passage_story.spread.spread, reader)),
            changed_at=at,
            is_cancelled=True,
        )
        for passage_story, at in story.gone
        if (as_of - at.date()).days <= CANCELLED_DAYS
        and (reader == Sight.ILLUSTRATOR or passage_story.gate != Gate.HIDDEN)
        and (on := _last_date(passage_story)) is not None
    ]


def _n_entries(story: Story, spread: int, reader: Sight) -> int:
    everyone = (*story.passages.values(), *(passage_story for passage_story, _ in story.gone))
    return sum(
        len(_known(passage_story, reader)) for passage_story in everyone if passage_story.spread.spread == spread
    )


def _known(passage_story: PassageStory, reader: Sight) -> list[Event]:
    return [event for event in passage_story.events if event.sight in (Sight.ALL, reader)]


def _last_date(story: PassageStory) -> date | None:
    """Find the hand-in date a passage had when it went; nothing can have been handed in for it."""
    on = story.planned_on
    for event in story.events:
        moved = event.deed == Deed.MOVE_DUE_DATE and event.data.get("which", "hand-in") == "hand-in"
        to = event.data["to"] if moved else event.data.get("dues", {}).get(str(story.passage))
        to = event.data.get("hand_in_to", to)
        on = date.fromisoformat(to) if to else on
    return on


def after_seats(events: Iterable[FeedEvent], n_ended: int, *, ended_at: datetime | None = None) -> list[FeedEvent]:
    """Lift the sequences by the seats that ended on the book; with ``ended_at`` the last of them was the person's last.

    A calendar that only adds keeps an event until it is told of its end, so the dates of an ended seat stay in the
    feed as cancelled. Each end counts two: one cancels the event, and one more brings it back with a seat taken anew,
    even where nothing else happened to it meanwhile.
    """
    if ended_at is None:
        return [replace(event, sequence=event.sequence + 2 * n_ended) for event in events]
    return [
        replace(
            event,
            sequence=event.sequence + 2 * n_ended - 1,
            # Without a seat nothing is to be found behind the address.
            url="",
            changed_at=max(event.changed_at, ended_at),
            is_cancelled=True,
        )
        for event in events
    ]


@dataclass(frozen=True)
class _Past:
    """What has moved a passage's dates so far, as a number that only grows, and when it last did."""

    sequence: int
    changed_at: datetime


def _past(story: Story, statement: Statement, n_terms: int, reader: Sight) -> dict[int, _Past]:
    """Add up, along each spread's stages, its entries and the publisher's late days; they move the later dates too."""
    first_at = story.shared_at or datetime.combine(statement.as_of, time(), UTC)
    found: dict[int, _Past] = {}
    so_far: dict[int, tuple[int, int, datetime | None]] = {}
    for line in statement.every_line:
        n_entries, n_late, last_at = so_far.get(line.spread.spread, (0, 0, None))
        happened = _known(story.passages[line.passage], reader)
        n_entries += len(happened)
        n_late += line.days.publisher_late
        last_at = max([at for at in (last_at, *(event.at for event in happened)) if at], default=None)
        sequence = FIRST + PER_ENTRY * (n_entries + n_terms) + min(n_late, PER_ENTRY - 1)
        found[line.passage] = _Past(sequence, last_at or first_at)
        so_far[line.spread.spread] = n_entries, n_late, last_at
    return found


def _event(
    statement: Statement, line: PassageLine, side: Side, past: _Past, names: tuple[str, str, str, str]
) -> FeedEvent | None:
    book_key, person_key, title, url = names
    turn = next((turn for turn in reversed(line.turns) if turn.side == side), None)
    is_theirs = turn is not None and turn.is_open
    on = line.due.current_on if side == Side.ILLUSTRATOR else turn.due_on if turn else None
    if on is None or (turn is None and side == Side.PUBLISHER):
        return None
    if turn is None and line.stage in PRINTERS_STAGES:
        return None  # the printer makes it: it is no date of this side
    waits = side == Side.ILLUSTRATOR and turn is None  # not open yet, but it has a date already
    if waits and line.dropped_at is not None:
        if (statement.as_of - line.dropped_at.date()).days > CANCELLED_DAYS:
            return None
        waits = False  # nothing is due of a dropped spread any more
    if not is_theirs and not waits and turn and (statement.as_of - turn.until_on).days > CANCELLED_DAYS:
        return None
    what = "hand-in" if side == Side.ILLUSTRATOR else "answer"
    return FeedEvent(
        uid=uid_for(book_key, line.passage, what, person_key),
        on=on,
        title=title,
        spread=line.spread.label,
        stage=line.stage,
        what=what,
        sequence=past.sequence,
        changed_at=past.changed_at,
        is_cancelled=not is_theirs and not waits,
        url=url.replace("{passage}", str(line.passage)),
    )
