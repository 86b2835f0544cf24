"""Whose days were spent: every working day between go-ahead and approval belongs to exactly one side.

A passage is always in somebody's hands: the illustrator draws, or the publisher answers. The day on which
it changes
hands is the giver's last day, the next working day the receiver's first (or, where the terms count the day of
receipt, that day already). So the days of both sides, the weekends and the holidays add up to the calendar.
Where each side keeps the holidays of its own place, a turn's days are those of the side that holds it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import NamedTuple

from reviews.rules.contract.calendars import Calendar
from reviews.rules.contract.days import ONE_DAY, day_zero_local, last_day, working_days_between
from reviews.rules.contract.terms import StageDays, Terms, TermsHistory
from reviews.rules.contract.timeline import OPENS, Event, PassageStory, Story
from reviews.rules.contract.turn_dates import agreed_due, hand_in_date, silence_on, told_due
from reviews.rules.states import Deed, PassageState, Role
from reviews.rules.states import Side as Side

_HOLDS = {PassageState.DRAWING: Side.ILLUSTRATOR, PassageState.ANSWERING: Side.PUBLISHER}


class Part(NamedTuple):
    """The working days of one turn that one person had it; `by` is empty while nobody has acted yet.

    `entries` are the ledger lines between which they lie.
    """

    role: str
    by: str
    working: int
    entries: tuple[int, ...] = ()


@dataclass(frozen=True)
class PersonDays:
    """Working days of one person, and the ledger lines between which they lie."""

    working: int
    entries: tuple[int, ...]


class Turn(NamedTuple):
    """One unbroken time in the hands of one side.

    from_on    the day it was received; `until_on` the day it was given back, or the day of reckoning if
               still held
    working    working days that belong to the side; `weekend` and `holiday` fell in between and belong to
               nobody
    allowed    what the terms allow; None where they set nothing (a stage without an answer)
    due_on     the last day allowed, planned or agreed; never a closed day unless one was agreed
    silent_on  the day on which silence counted as approval, if it did: the portal's own entry says so
    entries    the ledger lines that began, divided and ended it
    late       working days beyond the last day, which is later than the days allowed where a later date was
               planned or agreed
    resumes    whether it goes on with the turn before, whose hand-in was taken back: ``allowed`` is then what that
               turn had left, and no sum counts it anew, nor the days by which that one was late
    silence_on    the day with whose end silence counts as approval, if the terms say so and nobody has answered
    announced_on  the day on which the art director was warned of that
    """

    passage: int
    side: Side
    from_on: date
    until_on: date
    is_open: bool
    working: int
    weekend: int
    holiday: int
    allowed: int | None
    due_on: date | None
    silent_on: date | None
    parts: tuple[Part, ...]
    entries: tuple[int, ...]
    version: int
    late: int
    silence_on: date | None = None
    announced_on: date | None = None
    resumes: bool = False

    @property
    def calendar_days(self) -> int:
        """Count all days: the working ones of this side, the weekends and the holidays."""
        return (self.until_on - self.from_on).days


@dataclass(frozen=True, kw_only=True)
class DaySum:
    """Days of several turns together, and the days that the terms allow a side for them."""

    illustrator: int = 0
    publisher: int = 0
    weekend: int = 0
    holiday: int = 0
    illustrator_late: int = 0
    publisher_late: int = 0
    illustrator_allowed: int = 0
    publisher_allowed: int = 0
    entries: tuple[int, ...] = ()

    @property
    def calendar_days(self) -> int:
        """Add everything up: it is the number of dates in the turns."""
        return self.illustrator + self.publisher + self.weekend + self.holiday


class Receipts:
    """The day each ledger entry counts as received on; one letter may answer twenty passages, and is dated once."""

    def __init__(self, terms: TermsHistory) -> None:
        self.terms = terms
        self._days: dict[tuple[int, Side], date] = {}
        # Spreads that travel together share their turns' days: counting them once is half the work of a statement.
        self._spans: dict[tuple[int, Side, date, date], tuple[int, int, int]] = {}
        self._last_days: dict[tuple[int, Side, date, int], date] = {}
        self._written: dict[int, tuple[datetime, date, Terms]] = {}

    def day(self, event: Event, receiver: Side) -> date:
        """Give day 0 of whoever receives it."""
        found = self._days.get((event.seq, receiver))
        if found is None:
            local, _, held = self._of(event)
            found = day_zero_local(local, held.day_rule, held.calendar_of(receiver))
            self._days[event.seq, receiver] = found
        return found

    def written_on(self, event: Event) -> date:
        """Give the date on the wall when it happened, where the terms count."""
        return self._of(event)[1]

    def local(self, event: Event) -> datetime:
        """Give the moment itself, in the zone of the terms."""
        return self._of(event)[0]

    def version(self, event: Event) -> Terms:
        """Give the terms that held when it happened."""
        return self._of(event)[2]

    def split(self, held: Terms, side: Side, from_on: date, until_on: date) -> tuple[int, int, int]:
        """Split the days of a turn into a side's working days, weekend days and holidays."""
        key = (held.version, side, from_on, until_on)
        found = self._spans.get(key)
        if found is None:
            found = held.calendar_of(side).split(*_span(from_on, until_on, held))
            self._spans[key] = found
        return found

    def last_day(self, held: Terms, side: Side, from_on: date, n_days: int) -> date:
        """Find the last of a side's days that run from a day on."""
        key = (held.version, side, from_on, n_days)
        found = self._last_days.get(key)
        if found is None:
            found = last_day(from_on, n_days, held.day_rule, held.calendar_of(side))
            self._last_days[key] = found
        return found

    def _of(self, event: Event) -> tuple[datetime, date, Terms]:
        found = self._written.get(event.seq)
        if found is None:
            local = event.at.astimezone(self.terms.on(event.at.date()).day_rule.zone_info)
            day = local.date()
            found = local, day, self.terms.on(day)
            self._written[event.seq] = found
        return found


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


def add_up(turns: Iterable[Turn]) -> DaySum:
    """Add the days of turns; nothing is counted twice unless two passages ran side by side."""
    illustrator = publisher = weekend = holiday = late_i = late_p = allowed_i = allowed_p = 0
    entries: list[int] = []
    for turn in turns:
        weekend += turn.weekend
        holiday += turn.holiday
        entries += turn.entries
        if turn.side == Side.ILLUSTRATOR:
            illustrator += turn.working
            # Its date is the one of the turn it goes on with, whose late days are in the sum already.
            late_i += min(turn.late, turn.working) if turn.resumes else turn.late
            allowed_i += 0 if turn.resumes else turn.allowed or 0
        else:
            publisher += turn.working
            late_p += turn.late
            allowed_p += turn.allowed or 0
    lines = tuple(sorted(set(entries)))
    return DaySum(
        illustrator=illustrator,
        publisher=publisher,
        weekend=weekend,
        holiday=holiday,
        illustrator_late=late_i,
        publisher_late=late_p,
        illustrator_allowed=allowed_i,
        publisher_allowed=allowed_p,
        entries=lines,
    )


def add_sums(sums: Iterable[DaySum]) -> DaySum:
    """Add up what was added up before."""
    found = list(sums)
    return DaySum(
        illustrator=sum(one.illustrator for one in found),
        publisher=sum(one.publisher for one in found),
        weekend=sum(one.weekend for one in found),
        holiday=sum(one.holiday for one in found),
        illustrator_late=sum(one.illustrator_late for one in found),
        publisher_late=sum(one.publisher_late for one in found),
        illustrator_allowed=sum(one.illustrator_allowed for one in found),
        publisher_allowed=sum(one.publisher_allowed for one in found),
        entries=tuple(sorted({seq for one in found for seq in one.entries})),
    )


def by_person(turns: Iterable[Turn]) -> dict[tuple[str, str], PersonDays]:
    """Add working days up by role and name; turns that nobody has ended are under the role with no name."""
    parts: dict[tuple[str, str], list[Part]] = {}
    for turn in turns:
        for part in turn.parts:
            parts.setdefault((part.role, part.by), []).append(part)
    return {
        key: PersonDays(
            sum(part.working for part in theirs), tuple(sorted({seq for part in theirs for seq in part.entries}))
        )
        for key, theirs in parts.items()
    }


def late_days(due_on: date | None, until_on: date, calendar: Calendar) -> int:
    """Count the working days after the last day, up to and with the day it was done or is reckoned on.

    The one count of lateness: what the statement sums up is what the desk and the letter say before.
    """
    return 0 if due_on is None or until_on <= due_on else working_days_between(due_on, until_on, calendar)


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


def _span(from_on: date, until_on: date, version: Terms) -> tuple[date, date]:
    """Give the dates after which and until which days belong to the receiver."""
    if version.day_rule.counts_receipt:
        return from_on - ONE_DAY, until_on - ONE_DAY
    return from_on, until_on


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
        first, last = _span(since, on, version)
        days = version.calendar_of(Side.PUBLISHER).count(first, last)
        parts.append(Part(event.role, event.by, days, (between[0], event.seq)))
        between = (event.seq, *between[1:])
        left -= days
        since = on
        role = str(Role.EDITOR) if event.deed == Deed.SEND_LETTER else str(Role.ART_DIRECTOR)
    ended = end is not None and end.role in (Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION)
    parts.append(Part(end.role, end.by, left, between) if end and ended else Part(role, "", left, between))
    return tuple(parts)
