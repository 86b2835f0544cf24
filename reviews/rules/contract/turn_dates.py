"""The dates of one turn: by when it is to end, and when silence in it counts as approval."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from reviews.rules.contract.calendars import Calendar
from reviews.rules.contract.lateness import HeldDate, Late, late_in, moved, set_anew
from reviews.rules.contract.pauses import first_changed, moved_by
from reviews.rules.contract.periods import end_of
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.timeline import FIXED_BY_TERMS, MOVED_BY_LATENESS, OPENS, PAUSED, Event, PassageStory
from reviews.rules.states import Answer, Deed, Side


def told_due(passage: int, began: Event) -> date | None:
    """Find the date that both sides were told when the turn began: it holds at a stage the terms do not name."""
    data = began.data
    # The letter that opened it also carries the date of the passage it answered: its own comes first.
    told = data.get("dues", {}).get(str(passage)) or data.get("answer_due_on") or data.get("due_on")
    return date.fromisoformat(told) if told else None


class TurnDates(NamedTuple):
    """What the dates of one turn are read with: the side that holds it, and the terms with which it began.

    ``made_at`` names the stage where what is due is a hand-in that the printer may make: then its days count.
    """

    receipts: Receipts
    side: Side
    version: Terms
    made_at: str = ""

    def calendar_at(self, seq: int) -> Calendar:
        """Give the calendar of whoever keeps the date, with the pauses that stood once a ledger line was written."""
        known = self.receipts.known_at(self.version, seq)
        return known.maker_calendar(self.made_at) if self.made_at else known.calendar_of(self.side)

    def moved(self, day: date, seq: int) -> date:
        """Move a date as the pause of a ledger line moves it."""
        first = first_changed(self.receipts.pauses, seq)
        return moved_by(day, self.calendar_at(seq - 1), self.calendar_at(seq), first)


def agreed_dues(
    passage: int, side: Side, events: Sequence[Event], own: date | None, dates: TurnDates, *, is_fixed: bool = False
) -> list[HeldDate]:
    """List the last days that a turn had: the days of the terms, a planned date that is later, dates agreed since.

    A stage that opens before its time may be handed in on its planned date, unless the terms fix its own; a date that
    was moved is the one that holds, whichever way it was moved. The last of them holds now.
    """
    stands = [HeldDate(own)]
    if len(events) == 1 and events[0].deed != OPENS:
        return stands  # as most turns are: nothing came between what began it and what ended it
    for event in events:
        planned = event.data.get("dues", {}).get(str(passage)) if event.deed == OPENS else None
        due_on = stands[-1].due_on
        if planned is not None and due_on is not None and not is_fixed:
            stands = set_anew(stands, max(due_on, date.fromisoformat(planned)))
        if event.deed == PAUSED:
            to = _moved(event, side) or stands[-1].due_on
            forgives, on = side in event.data.get("forgives_sides", ()), dates.receipts.written_on(event)
            stands = [*stands, HeldDate(to, on, forgives, dates.calendar_at(event.seq))]
        elif event.deed == FIXED_BY_TERMS and (fixed := _moved(event, side)) is not None:
            stands = [*stands, HeldDate(fixed, dates.receipts.written_on(event))]
        elif (to := _moved(event, side)) is not None:
            stands = moved(stands, to, dates.receipts.written_on(event), event.data)
    return stands


def forgiven_after(last: HeldDate, side: Side, end: Event | None, dates: TurnDates) -> list[HeldDate]:
    """List the pauses agreed after a turn had ended that forgive what it was late by; ``last`` is its last date."""
    if end is None or not dates.receipts.pauses:
        return []
    found, due_on = [], last.due_on
    for word in dates.receipts.pauses:
        if word.seq > end.seq and due_on is not None:
            due_on = dates.moved(due_on, word.seq)
            if side in word.forgives:
                found.append(HeldDate(due_on, date.max, True, dates.calendar_at(word.seq)))
    return found


def late_under(version: Terms, side: Side, stood: Sequence[HeldDate], until_on: date) -> Late:
    """Count the days late of a turn that began under these terms, up to a day."""
    return late_in(stood, until_on, version.calendar_of(side), grace=version.grace_of(side))


def hand_in_date(side: Side, events: Sequence[Event], due_on: date | None, stands: date | None) -> date | None:
    """Find the hand-in's date as it stands after a turn: the illustrator's own, or one moved while the other held.

    ``due_on`` is the turn's own date, ``stands`` what stood before it.
    """
    if side == Side.ILLUSTRATOR:
        return due_on
    for event in events:
        stands = _moved(event, Side.ILLUSTRATOR) or stands
    return stands


def _moved(event: Event, side: Side) -> date | None:
    if event.deed == MOVED_BY_LATENESS:
        return date.fromisoformat(event.data["due_on"]) if side == Side.ILLUSTRATOR else None
    if event.deed in (PAUSED, FIXED_BY_TERMS):
        to = event.data.get("hand_in_to") if side == Side.ILLUSTRATOR else event.data.get("answer_to")
        return date.fromisoformat(to) if to else None
    which = "hand-in" if side == Side.ILLUSTRATOR else "answer"
    if event.deed != Deed.MOVE_DUE_DATE or event.data.get("which", "hand-in") != which:
        return None
    return date.fromisoformat(event.data["to"])


def asked_before(story: PassageStory, began: Event) -> bool:
    """Say whether changes had been asked for when a turn began: what follows is a revision, and a second look at it."""
    return any(
        event.seq <= began.seq and event.deed == Deed.SEND_LETTER and event.data.get("answer") == Answer.ASK
        for event in story.events
    )


def silence_on(
    version: Terms, story: PassageStory, events: Sequence[Event], from_on: date, due_on: date | None
) -> date | None:
    """Find the day with whose end silence counts as approval: never before an agreed date or the announced one."""
    silence = version.silence_at(story.spread.part, story.stage)
    if silence is None or silence.days is None:
        return None
    if any(event.deed == Deed.SEND_LETTER for event in events):
        return None  # a first voice has spoken: that is not silence
    if events[0].data.get("voiced"):
        return None  # nor is it where the spread was dropped and brought back since
    if len(events[0].data.get("pictures", ())) > 1:
        return None  # silence chooses nothing: which of several options would it have approved?
    days = [end_of(from_on, silence.days, silence.unit, version.day_rule, version.calendar_of(Side.PUBLISHER))]
    days += [due_on] if due_on else []
    announced = next((event for event in events[1:] if event.deed == Deed.ANNOUNCE_SILENCE), None)
    days += [date.fromisoformat(announced.data["silent_on"])] if announced else []
    return max(days)
