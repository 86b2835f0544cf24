"""Read the ledger once, and sort it into what happened to each passage.

Rounds, days, due dates and money are worked out from this one reading, so that they cannot disagree about it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from itertools import takewhile
from typing import cast

from reviews.rules.agreement_payloads import AgreePauseData
from reviews.rules.contract.bills import Bill, Hours
from reviews.rules.contract.bills_told import BILL_READERS
from reviews.rules.contract.events import BROUGHT_BACK as BROUGHT_BACK
from reviews.rules.contract.events import DROPPED as DROPPED
from reviews.rules.contract.events import FIXED_BY_TERMS as FIXED_BY_TERMS
from reviews.rules.contract.events import MOVED_BY_LATENESS as MOVED_BY_LATENESS
from reviews.rules.contract.events import OPENS as OPENS
from reviews.rules.contract.events import PAUSED as PAUSED
from reviews.rules.contract.events import REORDERED as REORDERED
from reviews.rules.contract.events import AboutPassage as AboutPassage
from reviews.rules.contract.events import Event as Event
from reviews.rules.contract.events import SpreadFacts as SpreadFacts
from reviews.rules.contract.events import back_at
from reviews.rules.contract.pause_words import word_of
from reviews.rules.contract.pauses import PauseWord
from reviews.rules.contract.plans import place_of
from reviews.rules.entries import Entry
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.letter_payloads import SendLetterData
from reviews.rules.money_payloads import HoursData, TakeBackLetterData
from reviews.rules.moving_payloads import RepageData
from reviews.rules.payload_shapes import ChangeTermsData, PlanData, SetByTerms
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed, Gate, PassageState, Role, Sight

#: Looking a state up is many times faster than building it, and a ledger has many lines.
_STATES = {state.value: state for state in PassageState}


@dataclass(kw_only=True)
class PassageStory:
    """One passage and all that happened to it, in order.

    ``added_at``: its spread was added to a book under way; ``away`` is when it was dropped, and brought back if it was.
    """

    passage: int
    spread: SpreadFacts
    stage: str
    gate: Gate
    position: int
    planned_on: date | None
    laid_out_by: int
    events: list[Event] = field(default_factory=list)
    added_at: datetime | None = None
    away: list[tuple[datetime, datetime | None]] = field(default_factory=list)

    @property
    def is_dropped(self) -> bool:
        """Say whether its spread is out of the book."""
        return bool(self.away) and self.away[-1][1] is None

    @property
    def made_by(self) -> str:
        """Name the role that handed in last."""
        handed = (event.role for event in reversed(self.events) if event.deed == Deed.HAND_IN)
        return next(handed, str(Role.ILLUSTRATOR))

    def gives_to_printer(self, event: Event) -> bool:
        """Say whether what gives this out to be made gives it to the printer.

        A stage that opens says so itself; those opened before this was told were the illustrator's, as they were
        counted then, until an entry of the portal's own gives them on. Later it goes back to whoever handed it in.
        """
        if self.stage not in PRINTERS_STAGES:
            return False
        if event.deed == Deed.GIVE_TO_PRINTER:
            return True
        if event.deed == OPENS:
            return self.passage in event.data.get("printers", ())
        before = takewhile(lambda told: told is not event, self.events)
        handed = [told.role for told in before if told.deed == Deed.HAND_IN]
        return bool(handed) and handed[-1] != Role.ILLUSTRATOR

    @property
    def state(self) -> PassageState:
        """Give the state the last event left it in."""
        return next((event.to for event in reversed(self.events) if event.to), PassageState.CLOSED)

    @property
    def was_reopened(self) -> bool:
        """Say whether a letter has asked for changes to it after it was approved, whatever came since."""
        return any(event.data.get("reopened") for event in self.events)


@dataclass(kw_only=True)
class Story:
    """A book as its ledger tells it.

    `start_on` is the day of go-ahead; `last_seq` and `last_at` belong to the last entry read, `shared_at` to the last
    of which both sides may know.
    `terms_entries` holds the entry of each version of the terms, `reaching_back` the versions of which both sides said
    that they hold from before they agreed, `plan_entries` those that made or changed plans.
    `bills` are the invoices that stand, by their row; `hours` those told for a round, by its letter and passage.
    `pauses` are all agreements on pauses, in order.
    `gone` are passages that a changed plan or layout took away, and when; no figure is counted from them.
    """

    passages: dict[int, PassageStory] = field(default_factory=dict)
    start_on: date | None = None
    start_seq: int = 0
    n_entries: int = 0
    last_seq: int = 0
    last_at: datetime | None = None
    shared_at: datetime | None = None
    gone: list[tuple[PassageStory, datetime]] = field(default_factory=list)
    pauses: list[PauseWord] = field(default_factory=list)
    plan_entries: list[int] = field(default_factory=list)
    reaching_back: set[int] = field(default_factory=set)
    terms_entries: dict[int, int] = field(default_factory=dict)
    bills: dict[int, Bill] = field(default_factory=dict)
    hours: dict[tuple[int, int], Hours] = field(default_factory=dict)

    @property
    def told_by(self) -> dict[int, int]:
        """Give the line from which on each version was known; one that reaches back counts what came before it too."""
        return {version: 0 if version in self.reaching_back else seq for version, seq in self.terms_entries.items()}

    def behind(self, version: int) -> tuple[int, ...]:
        """Name the entries that set a figure of the terms: the version's own, or else the plans that imply it."""
        entered = self.terms_entries.get(version)
        return tuple(self.plan_entries) if entered is None else (entered,)

    def in_order(self) -> list[PassageStory]:
        """List the passages of the book by spread in page order, then by stage; dropped spreads are left out."""
        return [story for story in self.everyone() if not story.is_dropped]

    def dropped(self) -> list[PassageStory]:
        """List the passages of dropped spreads: what was used on them stays used."""
        return [story for story in self.everyone() if story.is_dropped]

    def everyone(self) -> list[PassageStory]:
        """List all passages, those of dropped spreads among them; a dropped one shares its position with another."""
        return sorted(
            self.passages.values(),
            key=lambda one: (one.spread.position, one.spread.spread, *place_of(one.stage, one.position), one.passage),
        )


def tell(
    entries: Iterable[Entry],
    spreads: Mapping[int, SpreadFacts] | None = None,
    *,
    until: datetime | None = None,
) -> Story:
    """Read the entries in order, up to but without the moment `until`.

    A spread that is not in `spreads` is named by its number: figures never depend on names.
    """
    story = Story()
    named = spreads or {}
    for entry in entries:
        if entry.deed == Deed.CHANGE_TERMS:
            _terms(story, entry)
        if until is not None and entry.at >= until:
            # Not the end of the reading: a clock that was set back writes an earlier moment under a later number.
            continue
        story.n_entries += 1
        story.last_seq, story.last_at = entry.seq, entry.at
        if _sight_of(story, entry, entry.passage, entry.deed) == Sight.ALL:
            story.shared_at = entry.at
        read = _READERS.get(entry.deed)
        if read is not None:
            read(story, entry, named)
    return story


def _plan(story: Story, entry: Entry, named: Mapping[int, SpreadFacts]) -> None:
    data = payload_of(entry, PlanData)
    if entry.deed not in (Deed.LAY_OUT, Deed.REPAGE):
        story.plan_entries.append(entry.seq)
    start_on = data.get("start_on")
    if start_on and story.start_on is None:
        story.start_on, story.start_seq = date.fromisoformat(start_on), entry.seq
    for passage in data.get("closes", ()):
        if (gone := story.passages.pop(passage, None)) is not None:
            story.gone.append((gone, entry.at))
    positions = {line["spread"]: line["position"] for line in data.get("spreads", ())}
    for line in data.get("passages", ()):
        spread = line["spread"]
        facts = named.get(spread) or SpreadFacts(spread, positions.get(spread, spread), f"spread {spread}")
        story.passages[line["passage"]] = PassageStory(
            passage=line["passage"],
            spread=facts,
            stage=line["stage"],
            gate=Gate(line["gate"]),
            position=line["position"],
            planned_on=date.fromisoformat(line["due_on"]) if line.get("due_on") else None,
            laid_out_by=entry.seq,
        )
    for number, gate in data.get("gates", {}).items():
        if passage_story := story.passages.get(int(number)):
            passage_story.gate = Gate(gate)
    for number, position in data.get("positions", {}).items():
        if passage_story := story.passages.get(int(number)):
            passage_story.position = position
    for dated in data.get("restated", ()):
        _add(story, dated["passage"], entry, AboutPassage(hand_in_to=dated["due_on"]), None, deed=REORDERED)
    _open(story, entry, cast(AboutPassage, data))


def _repage(story: Story, entry: Entry, named: Mapping[int, SpreadFacts]) -> None:
    """Read spreads dropped, added and brought back: what is dropped is nobody's until it is back."""
    data = payload_of(entry, RepageData)
    for passage in (one for gone in data["dropped"] for one in gone["passages"]):
        if (told := story.passages.get(passage)) is not None:
            _add(story, passage, entry, {}, None, deed=DROPPED)
            told.away.append((entry.at, None))
    back = {one for spread in data["back"] for one in spread["passages"]}
    for told in (story.passages[one] for one in sorted(back) if one in story.passages):
        if told.away:  # a clock set back may put the drop beyond the moment up to which is read, and not the return
            told.away[-1] = (told.away[-1][0], entry.at)
    _set_by_terms(story, entry, data)
    there = set(story.passages)
    _plan(story, entry, named)
    for passage in set(story.passages) - there - back:
        story.passages[passage].added_at = entry.at
    for passage, due_on in ((int(key), on) for key, on in data["answer_dues"].items()):
        if (held := story.passages.get(passage)) is not None:
            about = back_at(held.events, due_on)
            _add(story, passage, entry, about, PassageState.ANSWERING, deed=BROUGHT_BACK)


def _open(story: Story, entry: Entry, data: AboutPassage) -> None:
    for passage in data.get("opens", ()):
        _add(story, passage, entry, data, PassageState.DRAWING, deed=OPENS)


def _move_late(story: Story, entry: Entry, data: AboutPassage, passage: int) -> None:
    late_at = story.passages[passage].stage if passage in story.passages else ""
    for moved in data.get("late_moves", ()):
        told = AboutPassage(due_on=moved["due_on"], late_by=data["late_by"], late_at=late_at)
        _add(story, moved["passage"], entry, told, None, deed=MOVED_BY_LATENESS)


def _letter(story: Story, entry: Entry, named: Mapping[int, SpreadFacts]) -> None:
    for answer in payload_of(entry, SendLetterData)["answers"]:
        about = cast(AboutPassage, answer)
        _add(story, answer["passage"], entry, about, _STATES[answer["to"]])
        _open(story, entry, about)
        _move_late(story, entry, about, answer["passage"])


def _take_back(story: Story, entry: Entry, named: Mapping[int, SpreadFacts]) -> None:
    """Read a letter taken back as if it had never gone: its answers and what they opened are told no more.

    Nobody had answered it, so nothing that came since hangs on it.
    """
    sent = payload_of(entry, TakeBackLetterData)["sent"]
    for passage_story in story.passages.values():
        kept = [event for event in passage_story.events if event.seq != sent]
        if len(kept) < len(passage_story.events):
            passage_story.events = kept
            _add(story, passage_story.passage, entry, {}, None)
    for key in [key for key in story.hours if key[0] == sent]:
        del story.hours[key]


def _pause(story: Story, entry: Entry, named: Mapping[int, SpreadFacts]) -> None:
    """Read an agreement on a pause: every passage is told, with the dates of it that the entry says are moved.

    The date of a stage that is still closed is moved where it is worked out: what was late before may move it too.
    """
    data = payload_of(entry, AgreePauseData)
    story.pauses.append(word_of(entry))
    moved = {(line["passage"], line["which"]): line["due_on"] for line in data["moved"]}
    for passage, passage_story in story.passages.items():
        is_closed = passage_story.state == PassageState.CLOSED and not passage_story.is_dropped
        told = AboutPassage(forgives_sides=data["forgives"], was_closed=is_closed)
        if to := moved.get((passage, "hand-in")):
            told["hand_in_to"] = to
        if to := moved.get((passage, "answer")):
            told["answer_to"] = to
        _add(story, passage, entry, told, None)


def _terms(story: Story, entry: Entry) -> None:
    """Read a version of the terms: it holds from its own day, not from the one on which somebody typed it in."""
    told = payload_of(entry, ChangeTermsData)
    story.terms_entries.setdefault(told.get("version", 0), entry.seq)
    if told.get("reaches_back"):
        story.reaching_back.add(told["version"])


def _fixed(story: Story, entry: Entry, named: Mapping[int, SpreadFacts]) -> None:
    _set_by_terms(story, entry, payload_of(entry, ChangeTermsData))


def _set_by_terms(story: Story, entry: Entry, data: SetByTerms) -> None:
    """Tell each passage whose date terms fix, or fix no more; that holds from the agreement on, or from its return."""
    for line in data.get("fixes", ()):
        to = line["due_on"]
        about = AboutPassage(answer_to=to) if line["which"] == "answer" else AboutPassage(hand_in_to=to)
        _add(story, line["passage"], entry, about, None, deed=FIXED_BY_TERMS)
    for line in data.get("frees", ()):
        about = AboutPassage(hand_in_to=line["due_on"], is_freed=True)
        _add(story, line["passage"], entry, about, None, deed=FIXED_BY_TERMS)


def _bill(story: Story, entry: Entry, named: Mapping[int, SpreadFacts]) -> None:
    BILL_READERS[entry.deed](story.bills, entry)


def _hours(story: Story, entry: Entry, named: Mapping[int, SpreadFacts]) -> None:
    data = payload_of(entry, HoursData)
    if entry.passage is None:
        return
    key, hours = (data["round"], entry.passage), Decimal(data["hours"])
    if entry.deed == Deed.TELL_HOURS:
        story.hours[key] = Hours(told=hours, entries=(entry.seq,))
    elif (before := story.hours.get(key)) is not None:
        story.hours[key] = replace(before, agreed=hours, entries=(*before.entries, entry.seq))


def _own(story: Story, entry: Entry, named: Mapping[int, SpreadFacts]) -> None:
    if entry.passage is None:
        return
    data = payload_of(entry, AboutPassage)
    to = data.get("to") if entry.deed != Deed.MOVE_DUE_DATE else None
    _add(story, entry.passage, entry, data, _STATES[to] if to else None)
    _open(story, entry, data)
    _move_late(story, entry, data, entry.passage)


def _add(
    story: Story,
    passage: int,
    entry: Entry,
    data: AboutPassage,
    to: PassageState | None,
    *,
    deed: str | None = None,
) -> None:
    passage_story = story.passages.get(passage)
    if passage_story is not None:
        deed = deed or entry.deed
        is_hidden = passage_story.gate == Gate.HIDDEN
        sight = _sight_of(story, entry, passage, deed) if is_hidden or deed in _SAID_INSIDE else Sight.ALL
        passage_story.events.append(
            Event(seq=entry.seq, at=entry.at, deed=deed, to=to, role=entry.role, by=entry.by, data=data, sight=sight)
        )


#: What the editor says of a hand-in, which may be the publisher's own affair.
_SAID_INSIDE = frozenset({Deed.OBJECT, Deed.AGREE})


def _sight_of(story: Story, entry: Entry, passage: int | None, deed: str) -> Sight:
    """Say who may know of what happened to a passage, as the stage was shown at that moment.

    What the editor says of a hand-in is the publisher's own affair until it completes an approval.
    """
    if deed == Deed.OBJECT or (deed == Deed.AGREE and not payload_of(entry, AboutPassage).get("completes")):
        return Sight.PUBLISHER
    passage_story = story.passages.get(passage) if passage is not None else None
    is_hidden = passage_story is not None and passage_story.gate == Gate.HIDDEN
    return Sight.ILLUSTRATOR if is_hidden else Sight.ALL


_READERS = {
    Deed.MAKE_BOOK.value: _plan,
    Deed.LAY_OUT.value: _plan,
    Deed.REPAGE.value: _repage,
    Deed.CHANGE_PLAN.value: _plan,
    Deed.SEND_LETTER.value: _letter,
    Deed.HAND_IN.value: _own,
    Deed.WITHDRAW_HAND_IN.value: _own,
    Deed.AGREE.value: _own,
    Deed.OBJECT.value: _own,
    Deed.MOVE_DUE_DATE.value: _own,
    Deed.AGREE_PAUSE.value: _pause,
    Deed.CHANGE_TERMS.value: _fixed,
    Deed.ANNOUNCE_SILENCE.value: _own,
    Deed.APPROVE_BY_SILENCE.value: _own,
    Deed.GIVE_TO_PRINTER.value: _own,
    Deed.TAKE_BACK_LETTER.value: _take_back,
    **dict.fromkeys(BILL_READERS, _bill),
    Deed.TELL_HOURS.value: _hours,
    Deed.AGREE_HOURS.value: _hours,
}

#: The deeds that change what the account says; every other entry can be left unread.
READ_DEEDS = (*_READERS, Deed.CHANGE_BOOK.value)
