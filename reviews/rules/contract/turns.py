"""Whose days were spent: every working day between go-ahead and approval belongs to exactly one side.

A passage is always in somebody's hands: the illustrator draws, or the publisher answers. The day on which it changes
hands is the giver's last day, the next working day the receiver's first. Where the terms count the day of receipt,
that day is the receiver's first as well, and is told as a day of both. So the days of both sides, the weekends and the
holidays add up to the calendar, once the days of both are taken off.

Where each side keeps the holidays of its own place, a turn's days are those of the side that holds it: the giver's turn
ends by the giver's calendar, and a holiday of the receiver puts off the receipt at nobody's cost.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import NamedTuple

from reviews.rules.contract.calendars import DaysByKind
from reviews.rules.contract.days import ONE_DAY
from reviews.rules.contract.fixed_dates import fixed_on
from reviews.rules.contract.lateness import ON_TIME, Late
from reviews.rules.contract.periods import DayUnit, StageDays, end_of
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.timeline import DROPPED, OPENS, Event, PassageStory, Story
from reviews.rules.contract.turn import Part, Turn
from reviews.rules.contract.turn_dates import (
    TurnDates,
    agreed_dues,
    asked_before,
    forgiven_after,
    hand_in_date,
    late_under,
    silence_on,
    told_due,
)
from reviews.rules.states import Deed, PassageState, Role, Side

_HOLDS = {PassageState.DRAWING: Side.ILLUSTRATOR, PassageState.ANSWERING: Side.PUBLISHER}


@dataclass(kw_only=True, slots=True)
class _Open:
    """A turn while the fold is still inside it.

    ``from_on`` never lies before the end of the turn ``before`` it; ``after`` is that one if it was given from hand to
    hand, and None where it was approved in between. The days
    allowed are counted from the receipt itself, as both sides were told: where each side keeps its own holidays, it can
    be the earlier day. ``stands`` is the date of a hand-in that was withdrawn, ``resumed`` the turn that it ended: who
    takes back what was handed in by mistake gains no days by it.
    """

    side: Side
    events: list[Event]
    from_on: date
    received_on: date
    before: Turn | None = None
    after: Turn | None = None
    stands: date | None = None
    resumed: Turn | None = None


def turns_of(story: PassageStory, receipts: Receipts, as_of: date, *, start_on: date | None = None) -> list[Turn]:
    """Divide one passage's history into turns, up to and with the day of reckoning.

    The terms that held when a turn was given govern the whole of it, so that an amendment never rewrites one: what
    comes in late on the eve of an amendment is judged by the terms under which it was told.
    """
    turns: list[Turn] = []
    held: _Open | None = None
    stands: date | None = None
    for event in story.events:
        side = _holder(story, event, event.to) if event.to is not None else held.side if held else None
        if event.deed == DROPPED:
            side = None
        if held is not None and side == held.side:
            held.events.append(event)
            continue
        # What is approved leaves the publisher for the illustrator, whose next stage it opens.
        receiver = side or (held.side.other if held is not None else Side.ILLUSTRATOR)
        on = _received_on(event, receipts, start_on, receiver)
        after: Turn | None = None
        if held is not None:
            # A drop gives nothing to anybody: its turn ends on the day itself, whenever that would be received.
            given_on = receipts.written_on(event) if event.deed == DROPPED else receipts.day(event, held.side)
            after = _turn(story, held, receipts, as_of, event, min(on, given_on))
            turns.append(after)
            # The hand-in's date as it stands now: the illustrator's own, or one moved while the other side held it.
            stands = hand_in_date(held.side, held.events, after.due_on, stands)
        held = _opened(side, event, on, turns[-1] if turns else None, after) if side is not None else None
        if held is not None and event.deed == Deed.WITHDRAW_HAND_IN:
            # A spread that was away since the hand-in has its own days from its return; the entry tells their end.
            told = event.data.get("due_on")
            held.stands = date.fromisoformat(told) if told else stands
            held.resumed = next((turn for turn in reversed(turns) if turn.side == held.side), None)
    if held is not None:
        turns.append(_turn(story, held, receipts, as_of, None, None))
    return turns


def _holder(story: PassageStory, event: Event, to: PassageState) -> Side | None:
    """Name the side that holds a passage; while the printer has a proof, neither does, and its days are nobody's."""
    return None if to == PassageState.DRAWING and story.gives_to_printer(event) else _HOLDS.get(to)


def _opened(side: Side, event: Event, on: date, before: Turn | None, after: Turn | None) -> _Open:
    from_on = max(on, before.ends_on) if before and before.ends_on else on
    return _Open(side=side, events=[event], from_on=from_on, received_on=on, before=before, after=after)


def all_turns(story: Story, receipts: Receipts, as_of: date) -> dict[int, list[Turn]]:
    """Divide every passage's history into turns."""
    return {
        passage: turns_of(passage_story, receipts, as_of, start_on=story.start_on)
        for passage, passage_story in story.passages.items()
    }


def if_answered(
    story: PassageStory, receipts: Receipts, event: Event, *, start_on: date | None
) -> tuple[Turn | None, Turn | None]:
    """Tell which turn of the publisher this would end if it were the answer, and which of the illustrator it begins."""
    heard = replace(story, events=[*story.events, event])
    turns = turns_of(heard, receipts, receipts.day(event, Side.ILLUSTRATOR), start_on=start_on)
    ended = next((turn for turn in turns if turn.side == Side.PUBLISHER and turn.entries[-1] == event.seq), None)
    began = turns[-1] if turns and turns[-1].entries[0] == event.seq else None
    return ended if ended and not ended.is_open else None, began


def _received_on(event: Event, receipts: Receipts, start_on: date | None, receiver: Side) -> date:
    on = receipts.day(event, receiver)
    # "Work starts on …": a book laid out before its go-ahead costs nobody the days in between, not even those of an
    # answer to what is handed in before.
    return on if start_on is None else max(on, start_on)


class _Span(NamedTuple):
    """The days of a turn: nobody's between the giver's last day and the receiver's first, then its own.

    since_on    the day after which they are this turn's
    counted_on  the day after which they are its side's
    until_on    the last of them
    both        1 where the day of receipt, which was the giver's last, counts for this side too
    """

    since_on: date
    counted_on: date
    until_on: date
    both: int


def _span(held: _Open, version: Terms, as_of: date, ends_on: date | None) -> _Span:
    """Lay a turn out in the calendar; nothing of it lies after the day of reckoning."""
    begins = held.events[0]
    first = held.from_on
    counts_receipt = version.day_rule.counts_receipt
    # An answer that opens the next stage, and a hand-in that does, were somebody's day too.
    opened = begins.deed == OPENS and any(key in begins.data for key in ("answer", "completes", "number"))
    ended_on = held.before.ends_on if held.before else None
    was_given = held.after is not None or opened or (ended_on is not None and ended_on >= first)
    put_off = held.after is not None and held.after.ends_on is not None and held.after.ends_on < first
    own_first = counts_receipt and (put_off or not was_given) and held.resumed is None
    counted_on = first - ONE_DAY if own_first else first
    since_on = held.after.until_on if held.after else counted_on
    until_on = max(since_on, min(ends_on or as_of, as_of))
    shared = counts_receipt and not own_first and held.resumed is None and until_on >= first
    both = int(shared and version.calendar_of(held.side).is_working(first))
    return _Span(since_on, counted_on, until_on, both)


def _turn(
    story: PassageStory, held: _Open, receipts: Receipts, as_of: date, end: Event | None, given_on: date | None
) -> Turn:
    version = receipts.version(held.events[0])
    allowed, own, is_fixed = _period(story, held, receipts, version)
    ends_on = max(given_on, held.from_on) if given_on else None  # nothing ends before it counts as begun
    counts = receipts.counted(version)  # what was told was told without the pauses agreed since; days count with them
    span = _span(held, counts, as_of, ends_on)
    working, weekend, holiday, paused = _days(span, held.side, receipts, counts)
    until_on = given_on or min(span.until_on, as_of)
    due_on, late = _late(story, held, receipts, version, own, end, until_on, is_fixed=is_fixed)
    ended = end.deed if end is not None else None
    return Turn(
        passage=story.passage,
        side=held.side,
        from_on=held.from_on,
        until_on=span.until_on,
        is_open=end is None,
        working=working,
        weekend=weekend,
        holiday=holiday,
        paused=paused,
        allowed=allowed,
        due_on=due_on,
        is_cut=ended == DROPPED,
        silent_on=ends_on if ended == Deed.APPROVE_BY_SILENCE else None,
        printer_on=ends_on if ended == Deed.GIVE_TO_PRINTER else None,
        parts=_parts(held, receipts, span, working, counts, end),
        entries=_seqs(held.events, end),
        version=version.version,
        late=late.counted,
        forgiven=late.forgiven,
        late_spans=late.spans,
        silence_on=None if end else _silence_on(story, held, counts, due_on),
        announced_on=_announced_on(held, receipts),
        resumes=held.resumed is not None,
        both=span.both,
        since_on=span.since_on,
        ends_on=ends_on,
    )


def _seqs(events: list[Event], end: Event | None) -> tuple[int, ...]:
    seqs = [event.seq for event in events]
    if end is not None:
        seqs.append(end.seq)
    return tuple(seqs)


def _late(
    story: PassageStory,
    held: _Open,
    receipts: Receipts,
    version: Terms,
    own: date | None,
    end: Event | None,
    until_on: date,
    *,
    is_fixed: bool,
) -> tuple[date | None, Late]:
    """Give the date that stands in the end, and how late its turn was by all that stood one after the other."""
    has_one_date = len(held.events) == 1 and held.events[0].deed != OPENS and not receipts.pauses
    if has_one_date and (own is None or until_on <= own):
        return own, ON_TIME  # as most turns are: nothing moved its date, and it was kept
    dates = TurnDates(receipts, held.side, version)
    stood = agreed_dues(story.passage, held.side, held.events, own, dates, is_fixed=is_fixed)
    forgiven = forgiven_after(stood[-1], held.side, end, dates)
    return stood[-1].due_on, late_under(dates.version, held.side, [*stood, *forgiven] if forgiven else stood, until_on)


def _silence_on(story: PassageStory, held: _Open, counts: Terms, due_on: date | None) -> date | None:
    """Find the day with whose end silence approves what waits for the publisher."""
    return silence_on(counts, story, held.events, held.from_on, due_on) if held.side == Side.PUBLISHER else None


def _announced_on(held: _Open, receipts: Receipts) -> date | None:
    if len(held.events) == 1:
        return None
    announced = next((event for event in held.events[1:] if event.deed == Deed.ANNOUNCE_SILENCE), None)
    return receipts.written_on(announced) if announced is not None else None


class _Period(NamedTuple):
    """The working days a turn is allowed, and the date it begins with; ``is_fixed`` says that the terms name it."""

    allowed: int | None
    own: date | None
    is_fixed: bool = False


def _period(story: PassageStory, held: _Open, receipts: Receipts, version: Terms) -> _Period:
    """Find the period of a turn: its date is the one of the turn it goes on with, the date that the terms fix, the end
    of the days of the terms, or what both sides were told."""
    line = version.days_for(story.spread.part, story.stage)
    # Most contracts give every version the same days: only where they differ is it asked which this is.
    is_again = line is not None and line.differs_again(held.side) and asked_before(story, held.events[0])
    fixed = _fixed(story, held, version, line) if line is not None and not is_again else None
    allowed = _allowed(line, held, version, fixed, is_again=is_again)
    if held.stands is not None:
        return _Period(allowed, held.stands)
    if fixed is not None:
        return _Period(allowed, fixed, is_fixed=True)
    if allowed is None or line is None:
        return _Period(allowed, told_due(story.passage, held.events[0]))
    own = (
        receipts.last_day(version, held.side, held.received_on, allowed)
        if line.unit == DayUnit.WORKING
        else _calendar_end(line, held, version, is_again=is_again)
    )
    began = held.events[0]
    # The answer that opens a stage says how long the date of the stage it approves stood, which is not this one's.
    stood_on = None if began.deed == OPENS else began.data.get("stood_on")
    if stood_on is None or held.side != Side.ILLUSTRATOR or version.redo_from_letter:
        return _Period(allowed, own)
    # A request for changes makes no date earlier than it stood.
    return _Period(allowed, max(own, date.fromisoformat(stood_on)))


def _fixed(story: PassageStory, held: _Open, version: Terms, line: StageDays) -> date | None:
    """Find the date that the terms fix for a first turn, where it begins before that date.

    What opened under such terms has the date its entry tells: it may have been moved by then.
    """
    began = held.events[0]
    if began.deed == OPENS and story.passage in began.data.get("fixed", ()):
        return told_due(story.passage, began)
    if line.fixed_for(held.side) is None:
        return None
    fixed = fixed_on(version, story.spread.part, story.stage, held.side)
    return fixed if fixed is not None and held.received_on < fixed else None


def _calendar_end(line: StageDays, held: _Open, version: Terms, *, is_again: bool) -> date:
    n_days = line.days_for(held.side, is_again=is_again)
    return end_of(held.received_on, n_days, line.unit, version.day_rule, version.calendar_of(held.side))


def _days(span: _Span, side: Side, receipts: Receipts, version: Terms) -> DaysByKind:
    """Count a turn's working days, those of both included, its weekends, its holidays and the days of pauses."""
    counted_on = min(span.counted_on, span.until_on)
    working, weekend, holiday, paused = receipts.split(version, side, counted_on, span.until_on)
    if span.since_on < counted_on:
        put_off, resting, closed, rested = receipts.split(version, side, span.since_on, counted_on)
        weekend, holiday, paused = weekend + resting, holiday + closed + put_off, paused + rested
    return DaysByKind(working + span.both, weekend, holiday, paused)


def _allowed(line: StageDays | None, held: _Open, version: Terms, fixed: date | None, *, is_again: bool) -> int | None:
    """Give the working days of the terms; a turn that goes on with one before it has those which that one had left.

    A period of calendar days, or until a fixed date, allows the working days that lie in it, so that all sums are of
    one kind.
    """
    if line is None:
        return None
    if held.resumed is not None and held.resumed.allowed is not None:
        return max(0, held.resumed.allowed - held.resumed.working)
    if line.unit == DayUnit.WORKING and fixed is None:
        return line.days_for(held.side, is_again=is_again)
    last_on = fixed or _calendar_end(line, held, version, is_again=is_again)
    calendar = version.calendar_of(held.side)
    return calendar.count(held.received_on, last_on) + int(
        version.day_rule.counts_receipt and calendar.is_working(held.received_on)
    )


def _parts(
    held: _Open, receipts: Receipts, span: _Span, working: int, version: Terms, end: Event | None
) -> tuple[Part, ...]:
    """Divide a publisher's turn: the art director's until the letter, then the second voice's."""
    between = (held.events[0].seq, *((end.seq,) if end else ()))
    if held.side == Side.ILLUSTRATOR:
        return (Part(Role.ILLUSTRATOR, end.by if end and end.role == Role.ILLUSTRATOR else "", working, between),)
    parts: list[Part] = []
    since, left, role = min(span.counted_on, span.until_on), working, str(Role.ART_DIRECTOR)
    shared = span.both
    for event in held.events[1:]:
        if event.deed not in (Deed.SEND_LETTER, Deed.OBJECT):
            continue
        on = min(max(receipts.day(event, Side.PUBLISHER), since), span.until_on)
        days = version.calendar_of(Side.PUBLISHER).count(since, on) + shared
        parts.append(Part(event.role, event.by, days, (between[0], event.seq)))
        between = (event.seq, *between[1:])
        left -= days
        since, shared = on, 0
        role = str(Role.EDITOR) if event.deed == Deed.SEND_LETTER else str(Role.ART_DIRECTOR)
    ended = end is not None and end.role in (Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION)
    parts.append(Part(end.role, end.by, left, between) if end and ended else Part(role, "", left, between))
    return tuple(parts)
