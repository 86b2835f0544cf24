"""Whose days were spent: every working day between go-ahead and approval belongs to exactly one side.

A passage is always in somebody's hands: the illustrator draws, or the publisher answers. The day on which
it changes
hands is the giver's last day, the next working day the receiver's first (or, where the terms count the day of
receipt, that day already). So the days of both sides, the weekends and the holidays add up to the calendar.
Where each side keeps the holidays of its own place, a turn's days are those of the side that holds it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from reviews.rules.contract.receipts import Receipts, late_days, span_of
from reviews.rules.contract.terms import StageDays, Terms
from reviews.rules.contract.timeline import OPENS, Event, PassageStory, Story
from reviews.rules.contract.turn import Part, Turn
from reviews.rules.contract.turn_dates import agreed_due, hand_in_date, silence_on, told_due
from reviews.rules.states import Deed, PassageState, Role, Side

_HOLDS = {PassageState.DRAWING: Side.ILLUSTRATOR, PassageState.ANSWERING: Side.PUBLISHER}


@dataclass(kw_only=True)
class _Open:
    """A turn while the fold is still inside it.

    ``from_on`` never lies before the end of the turn before it. The days allowed are counted from the receipt itself,
    as both sides were told: where each side keeps its own holidays, it can be the earlier day. ``stands`` is the date
    of a hand-in that was withdrawn, ``resumed`` the turn that it ended: who takes back what was handed in by mistake
    gains no days by it.
    """

    side: Side
    events: list[Event]
    from_on: date
    received_on: date
    stands: date | None = None
    resumed: Turn | None = None


def turns_of(story: PassageStory, receipts: Receipts, as_of: date, *, start_on: date | None = None) -> list[Turn]:
    """Divide one passage's history into turns, up to and with the day of reckoning.

    The terms that hold on the day a turn begins govern the whole turn, so that an amendment never rewrites
    one.
    """
    turns: list[Turn] = []
    held: _Open | None = None
    stands: date | None = None
    for event in story.events:
        side = _HOLDS.get(event.to) if event.to is not None else held.side if held else None
        if held is not None and side == held.side:
            held.events.append(event)
            continue
        # What is approved leaves the publisher for the illustrator, whose next stage it opens.
        receiver = side or (held.side.other if held is not None else Side.ILLUSTRATOR)
        on = _received_on(event, receipts, start_on, receiver)
        if held is not None:
            turns.append(_turn(story, held, receipts, max(on, held.from_on), event))
            # The hand-in's date as it stands now: the illustrator's own, or one moved while the other side held it.
            stands = hand_in_date(held.side, held.events, turns[-1].due_on, stands)
        held = (
            _Open(side=side, events=[event], from_on=max(on, turns[-1].until_on if turns else on), received_on=on)
            if side is not None
            else None
        )
        if held is not None and event.deed == Deed.WITHDRAW_HAND_IN:
            held.stands = stands
            held.resumed = next((turn for turn in reversed(turns) if turn.side == held.side), None)
    if held is not None:
        turns.append(_turn(story, held, receipts, max(as_of, held.from_on), None))
    return turns


def all_turns(story: Story, receipts: Receipts, as_of: date) -> dict[int, list[Turn]]:
    """Divide every passage's history into turns."""
    return {
        passage: turns_of(passage_story, receipts, as_of, start_on=story.start_on)
        for passage, passage_story in story.passages.items()
    }


def late_if_answered(
    story: PassageStory, receipts: Receipts, event: Event, *, start_on: date | None
) -> tuple[int, Turn | None]:
    """Say how late the publisher is if this is the answer, and which turn of the illustrator it begins."""
    heard = replace(story, events=[*story.events, event])
    turns = turns_of(heard, receipts, receipts.day(event, Side.ILLUSTRATOR), start_on=start_on)
    ended = next((turn for turn in turns if turn.side == Side.PUBLISHER and turn.entries[-1] == event.seq), None)
    began = turns[-1] if turns and turns[-1].entries[0] == event.seq else None
    return ended.late if ended and not ended.is_open else 0, began


def _received_on(event: Event, receipts: Receipts, start_on: date | None, receiver: Side) -> date:
    if event.deed == Deed.APPROVE_BY_SILENCE:
        return date.fromisoformat(event.data["silent_on"])
    on = receipts.day(event, receiver)
    if event.deed == OPENS and start_on is not None:
        # "Work starts on …": a book laid out before its go-ahead does not cost the illustrator the days in
        # between.
        return max(on, start_on)
    return on


def _turn(story: PassageStory, held: _Open, receipts: Receipts, until_on: date, end: Event | None) -> Turn:
    version = receipts.terms.on(held.from_on)
    allowed = _allowed(version.days_for(story.spread.part, story.stage), held)
    working, weekend, holiday = receipts.split(version, held.side, held.from_on, until_on)
    entries = [event.seq for event in held.events]
    if end is not None:
        entries.append(end.seq)
    own = told_due(story.passage, held.events[0])
    if held.stands is not None:
        own = held.stands
    elif allowed is not None:
        own = receipts.last_day(version, held.side, held.received_on, allowed)
    due_on = agreed_due(story.passage, held.side, held.events, own)
    is_silent = end is not None and end.deed == Deed.APPROVE_BY_SILENCE
    later = held.events[1:]
    announced = next((event for event in later if event.deed == Deed.ANNOUNCE_SILENCE), None) if later else None
    return Turn(
        passage=story.passage,
        side=held.side,
        from_on=held.from_on,
        until_on=until_on,
        is_open=end is None,
        working=working,
        weekend=weekend,
        holiday=holiday,
        allowed=allowed,
        due_on=due_on,
        silent_on=until_on if is_silent else None,
        parts=_parts(held, receipts, until_on, working, version, end),
        entries=tuple(entries),
        version=version.version,
        late=late_days(due_on, until_on, version.calendar_of(held.side)),
        silence_on=silence_on(version, held.side, held.events, held.from_on, due_on) if end is None else None,
        announced_on=receipts.written_on(announced) if announced is not None else None,
        resumes=held.resumed is not None,
    )


def _allowed(line: StageDays | None, held: _Open) -> int | None:
    """Give the days of the terms; a turn that goes on with one before it has those which that one had left."""
    if line is None:
        return None
    if held.resumed is not None and held.resumed.allowed is not None:
        return max(0, held.resumed.allowed - held.resumed.working)
    return line.answer_days if held.side == Side.PUBLISHER else line.hand_in_days


def _parts(
    held: _Open, receipts: Receipts, until_on: date, working: int, version: Terms, end: Event | None
) -> tuple[Part, ...]:
    """Divide a publisher's turn: the art director's until the letter, then the second voice's."""
    between = (held.events[0].seq, *((end.seq,) if end else ()))
    if held.side == Side.ILLUSTRATOR:
        return (Part(Role.ILLUSTRATOR, end.by if end and end.role == Role.ILLUSTRATOR else "", working, between),)
    parts: list[Part] = []
    since, left, role = held.from_on, working, str(Role.ART_DIRECTOR)
    for event in held.events[1:]:
        if event.deed not in (Deed.SEND_LETTER, Deed.OBJECT):
            continue
        on = min(max(receipts.day(event, Side.PUBLISHER), since), until_on)
        first, last = span_of(since, on, version)
        days = version.calendar_of(Side.PUBLISHER).count(first, last)
        parts.append(Part(event.role, event.by, days, (between[0], event.seq)))
        between = (event.seq, *between[1:])
        left -= days
        since = on
        role = str(Role.EDITOR) if event.deed == Deed.SEND_LETTER else str(Role.ART_DIRECTOR)
    ended = end is not None and end.role in (Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION)
    parts.append(Part(end.role, end.by, left, between) if end and ended else Part(role, "", left, between))
    return tuple(parts)
