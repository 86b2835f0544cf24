"""The account of a book: rounds used of included, dates due and met, who holds what since when.

Every figure is the statement's own, of today, so that the two cannot say different things; each names the ledger lines
behind it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.utils import timezone
from django.utils.translation import gettext as _

from reviews.models import Book, Passage, Seat
from reviews.pages.wording.due_dates import late_words, move_words
from reviews.pages.wording.terms import received_words
from reviews.queries.reckoning import Reckoning, reckon_one
from reviews.queries.stoppers import held_by_stoppers
from reviews.rules.contract.days import late_receipt
from reviews.rules.contract.distinct_days import DistinctDays
from reviews.rules.contract.due_dates import DueDate
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.rounds import RoundSum
from reviews.rules.contract.statement import PassageLine
from reviews.rules.contract.timeline import Event, PassageStory
from reviews.rules.contract.turn import Turn
from reviews.rules.passed_over import are_passed_over
from reviews.rules.states import Deed, Gate, PassageState, Role, Side


@dataclass(frozen=True, kw_only=True)
class Kept:
    """One thing that was due and was done: a hand-in or an answer; ``seq`` is its ledger line.

    ``done_on`` is the day on the wall; ``counts_words`` says on which later day it counts as received, and why.
    ``is_silent``: nobody answered, and the terms took that for a yes on ``done_on``.
    """

    number: int
    done_on: date
    late: int
    seq: int
    counts_words: str = ""
    is_silent: bool = False


@dataclass(frozen=True, kw_only=True)
class AccountLine:
    """One passage's figures; ``pool`` holds the rounds of the group it shares them with, named ``group``.

    ``is_held``: an open stopper of its art holds this proof up.
    """

    passage: Passage
    story: PassageStory
    receipts: Receipts
    line: PassageLine
    pool: RoundSum
    group: str
    shares_rounds: bool
    is_held: bool

    @property
    def rounds(self) -> RoundSum:
        return self.line.rounds

    @property
    def due(self) -> DueDate:
        return self.line.due

    @property
    def turn(self) -> Turn | None:
        """Give the turn that runs, if one does."""
        return self.line.turns[-1] if self.line.turns and self.line.turns[-1].is_open else None

    @property
    def late_now(self) -> int:
        """Count the working days by which whoever holds the passage is late now."""
        return self.turn.late if self.turn else 0

    @property
    def late_words(self) -> str:
        is_answer = self.turn is not None and self.turn.side == Side.PUBLISHER
        return late_words(self.late_now, is_answer=is_answer)

    @property
    def is_done(self) -> bool:
        return self.line.state in (PassageState.APPROVED, PassageState.PASSED)

    @property
    def is_remarkable(self) -> bool:
        """Say whether there is something here that somebody may have to answer for: it is never folded away."""
        return bool(self.late_now or self.rounds.over or self.rounds.outside)

    @property
    def handed_in(self) -> Kept | None:
        withdrawn = {event.data["number"] for event in self.story.events if event.deed == Deed.WITHDRAW_HAND_IN}
        found = [kept for kept in self._kept(Side.ILLUSTRATOR) if kept.number not in withdrawn]
        return found[-1] if found else None

    @property
    def answered(self) -> Kept | None:
        found = self._kept(Side.PUBLISHER)
        return found[-1] if found else None

    def _kept(self, side: Side) -> list[Kept]:
        """List what one side has done, with the number of the hand-in that it was about."""
        events = {event.seq: event for event in self.story.events}
        number, found = 0, []
        for turn in self.line.turns:
            end = events.get(turn.entries[-1])
            # What ended because its spread was dropped was given to nobody.
            if turn.is_open or turn.is_cut or end is None or end.deed in (Deed.WITHDRAW_HAND_IN, Deed.GIVE_TO_PRINTER):
                continue
            if turn.side == Side.ILLUSTRATOR:
                number = end.data.get("number", number)
            if turn.side == side:
                found.append(self._kept_by(turn, end, number))
        return found

    def _kept_by(self, turn: Turn, end: Event, number: int) -> Kept:
        if turn.silent_on is not None:
            return Kept(number=number, done_on=turn.silent_on, late=turn.late, seq=end.seq, is_silent=True)
        local = self.receipts.local(end)
        received_on = min(self.receipts.day(end, side) for side in Side)
        late = late_receipt(local, received_on, turn.ends_on or turn.until_on, self.receipts.version(end).day_rule)
        words = received_words(late)
        return Kept(number=number, done_on=local.date(), late=turn.late, seq=end.seq, counts_words=words)

    @property
    def moves(self) -> tuple[int, ...]:
        """Name the ledger lines that moved the date, once each."""
        return tuple(dict.fromkeys(move.seq for move in self.due.moves))

    @property
    def moved_because(self) -> str:
        return move_words(self.due.moves[-1]) if self.due.moves else ""

    @property
    def holder(self) -> str:
        """Say who holds the passage."""
        if self.passage.pending_id:
            return "Publisher: the editor’s agreement is due"
        return self.turn.side.capitalize() if self.turn else ""

    @property
    def due_now(self) -> date | None:
        """Name the date that counts now: that of the turn that runs, else the hand-in's if it is to come.

        What the printer makes is in no turn, and is to come too.
        """
        if self.turn:
            return self.turn.due_on
        return self.due.current_on if self.line.state in (PassageState.CLOSED, PassageState.DRAWING) else None

    @property
    def silence_on(self) -> date | None:
        """Name the day with whose end silence counts as approval, if the terms say so and no stopper holds it up."""
        return self.turn.silence_on if self.turn and not self.is_held else None

    @property
    def since(self) -> datetime | None:
        return self.passage.held_since if self.holder else self.passage.approved_at


@dataclass(frozen=True)
class AccountSpread:
    """One spread's lines in stage order: those that run or are remarkable, those that are done, and what is to come."""

    label: str
    lines: list[AccountLine] = field(default_factory=list)

    @property
    def begun(self) -> list[AccountLine]:
        return [line for line in self.lines if line.line.state != PassageState.CLOSED or line.rounds.entries]

    @property
    def standing(self) -> list[AccountLine]:
        return [line for line in self.begun if not line.is_done or line.is_remarkable]

    @property
    def done(self) -> list[AccountLine]:
        return [line for line in self.begun if line.is_done and not line.is_remarkable]

    @property
    def passed_over(self) -> list[AccountLine]:
        """List the stages that came into the plan when a later one was open here: they open by themselves no more."""
        told = are_passed_over([line.line.state for line in self.lines])
        return [line for line, is_over in zip(self.lines, told, strict=True) if is_over and not line.rounds.entries]

    @property
    def to_come(self) -> list[AccountLine]:
        elsewhere = [*self.begun, *self.passed_over]
        return [line for line in self.lines if line not in elsewhere]

    @property
    def is_finished(self) -> bool:
        """Say whether every stage of it is done, or passed over."""
        over = self.passed_over
        return all(line.is_done or line in over for line in self.lines)


@dataclass(frozen=True)
class Account:
    """A book's account and its sums."""

    spreads: list[AccountSpread]
    today: date
    distinct: DistinctDays

    @property
    def lines(self) -> list[AccountLine]:
        return [line for spread in self.spreads for line in spread.lines]

    @property
    def over(self) -> list[AccountLine]:
        """List the passages on which rounds went beyond the fee."""
        return [line for line in self.lines if line.rounds.over]

    @property
    def n_outside(self) -> int:
        return sum(line.rounds.outside for line in self.lines)

    @property
    def late_with_publisher(self) -> list[AccountLine]:
        return [line for line in self.lines if line.late_now and line.turn and line.turn.side == Side.PUBLISHER]

    @property
    def late_with_illustrator(self) -> list[AccountLine]:
        return [line for line in self.lines if line.late_now and line.turn and line.turn.side == Side.ILLUSTRATOR]

    @property
    def days_late_publisher(self) -> int:
        return self.distinct.publisher_late

    @property
    def days_late_illustrator(self) -> int:
        return self.distinct.illustrator_late


def account_of(book: Book, seat: Seat) -> Account:
    """Draw up the account of today (4 queries whatever the number of spreads, 5 where terms are implied).

    At most 3 more where silence would approve a proof: an open stopper holds that up.
    """
    reckoned = reckon_one(book, timezone.now())
    rows = Passage.objects.live().with_places().select_related("pending").filter(book=book)
    passages = {passage.pk: passage for passage in rows}
    lines = _lines(reckoned, passages, seat)
    spreads: dict[int, AccountSpread] = {}
    for line in lines:
        label = line.passage.spread.label
        spreads.setdefault(line.passage.spread_id, AccountSpread(label)).lines.append(line)
    return Account(list(spreads.values()), reckoned.today, reckoned.statement.distinct)


def _lines(reckoned: Reckoning, passages: dict[int, Passage], seat: Seat) -> Sequence[AccountLine]:
    """Leave out the stages that only the illustrator sees, for everybody else."""
    n_sharing = Counter(reckoned.group_of(line) for line in reckoned.statement.lines)
    receipts = Receipts(reckoned.terms, reckoned.story.told_by, reckoned.story.pauses)
    silent = [line.passage for line in reckoned.statement.lines if line.turns and line.turns[-1].silence_on]
    held = held_by_stoppers([passages[passage] for passage in silent if passage in passages])
    found = []
    for line in reckoned.statement.lines:
        passage = passages.get(line.passage)
        if passage is None or (passage.stage.gate == Gate.HIDDEN and seat.role != Role.ILLUSTRATOR):
            continue
        key = reckoned.group_of(line)
        pool = reckoned.statement.rounds.groups[key]
        story = reckoned.story.passages[line.passage]
        found.append(
            AccountLine(
                passage=passage,
                story=story,
                receipts=receipts,
                line=line,
                pool=pool,
                group=key.group if key.spread else _("{group}, for the whole book").format(group=key.group),
                shares_rounds=n_sharing[key] > 1,
                is_held=line.passage in held,
            )
        )
    return found
