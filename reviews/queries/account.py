"""The account of a book: rounds used of included, dates due and met, who holds what since when.

Every figure is worked out from the ledger and names the lines behind it, so that two people who
recount from the same ledger get the same figures.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.utils import timezone

from reviews.models import Book, LedgerEntry, Passage, Seat
from reviews.queries.rounds import allowances_for, counted_under
from reviews.queries.statement import facts_of
from reviews.queries.terms import entered_terms
from reviews.rules.dates_met import ANSWER, HAND_IN, Kept, PassageDates, dates_met
from reviews.rules.days import working_days_between
from reviews.rules.entries import Entry
from reviews.rules.rounds import RoundCount, count_rounds
from reviews.rules.states import Gate, PassageState, Role

# The deeds whose entries change rounds or dates; the rest of a ledger (notes, drafts) is left unread.
_DEEDS = (
    "make-book", "lay-out", "change-plan", "move-due-date", "hand-in", "withdraw-hand-in", "send-letter",
    "agree-approval", "object-to-approval",
)  # fmt: skip


@dataclass
class AccountLine:
    """One passage's figures."""

    passage: Passage
    rounds: RoundCount
    dates: PassageDates
    late_now: int
    shares_rounds: bool

    @property
    def shared_rounds(self) -> dict[str, int]:
        """Give the rounds of the pool this passage draws from: what is used by its neighbours is used here."""
        count = self.rounds
        return {"used": count.pool_used, "included": count.included, "left": count.left, "over": count.over}

    @property
    def group(self) -> str:
        """Name what its rounds are shared with."""
        return self.rounds.pool.partition("/")[2]

    @property
    def late_words(self) -> str:
        what = "answer" if self.passage.state == PassageState.ANSWERING else "hand-in"
        return f"{what} {self.late_now} working day{'s' if self.late_now > 1 else ''} late"

    @property
    def handed_in(self) -> Kept | None:
        return self.dates.last(HAND_IN)

    @property
    def answered(self) -> Kept | None:
        return self.dates.last(ANSWER)

    @property
    def holder(self) -> str:
        """Say who holds the passage."""
        if self.passage.pending_id:
            return "Publisher: the editor’s agreement is due"
        return {
            PassageState.DRAWING: "Illustrator",
            PassageState.ANSWERING: "Publisher",
        }.get(PassageState(self.passage.state), "")

    @property
    def due_now(self) -> date | None:
        """Name the date that counts now: the answer's while the publisher holds it, else the hand-in's."""
        if self.passage.state == PassageState.ANSWERING:
            return self.passage.answer_due_on
        return self.passage.due_on if self.passage.state != PassageState.APPROVED else None

    @property
    def since(self) -> datetime | None:
        return self.passage.held_since if self.holder else self.passage.approved_at

    @property
    def late_answers(self) -> list[Kept]:
        return [kept for kept in self.dates.kept if kept.side == ANSWER and kept.late]

    @property
    def late_hand_ins(self) -> list[Kept]:
        return [kept for kept in self.dates.kept if kept.side == HAND_IN and kept.late]

    @property
    def is_hidden(self) -> bool:
        return self.passage.stage.gate == Gate.HIDDEN


@dataclass
class AccountSpread:
    """One spread's lines in stage order."""

    label: str
    lines: list[AccountLine] = field(default_factory=list)

    @property
    def begun(self) -> list[AccountLine]:
        return [line for line in self.lines if line.passage.state != PassageState.CLOSED or line.rounds.entries]

    @property
    def to_come(self) -> list[AccountLine]:
        begun = self.begun
        return [line for line in self.lines if line not in begun]


@dataclass
class Account:
    """A book's account and its sums."""

    spreads: list[AccountSpread]
    today: date
    last_seq: int

    @property
    def lines(self) -> list[AccountLine]:
        return [line for spread in self.spreads for line in spread.lines]

    @property
    def over(self) -> list[AccountLine]:
        """List the passages whose rounds went beyond the fee, each pool once, where the last round was used."""
        return [line for line in self.lines if line.rounds.over and line.rounds.used]

    @property
    def n_outside(self) -> int:
        return sum(line.rounds.outside for line in self.lines)

    @property
    def late_with_publisher(self) -> list[AccountLine]:
        return [line for line in self.lines if line.late_now and line.passage.state == PassageState.ANSWERING]

    @property
    def late_with_illustrator(self) -> list[AccountLine]:
        return [line for line in self.lines if line.late_now and line.passage.state == PassageState.DRAWING]

    @property
    def days_late_publisher(self) -> int:
        return sum(kept.late for line in self.lines for kept in line.late_answers)

    @property
    def days_late_illustrator(self) -> int:
        return sum(kept.late for line in self.lines for kept in line.late_hand_ins)


def account_of(book: Book, seat: Seat) -> Account:
    """Work out the account from the ledger (3 queries whatever the number of spreads, 4 under entered terms)."""
    passages = list(
        Passage.objects.live()
        .with_places()
        .select_related("pending")
        .filter(book=book)
        .order_by("spread__position", "stage__position")
    )
    entries = [
        row.as_entry() for row in LedgerEntry.objects.filter(book=book, deed__in=_DEEDS).order_by("seq")
    ]
    counts = _counts(book, entries, passages)
    dates = dates_met(entries, calendar=book.calendar, rule=book.day_rule)
    pools = [count.pool for count in counts.values()]
    today = book.day_rule.local_date(timezone.now())
    spreads: dict[int, AccountSpread] = {}
    for passage in _seen(passages, seat):
        line = AccountLine(
            passage=passage,
            rounds=counts[passage.pk],
            dates=dates.get(passage.pk, PassageDates()),
            late_now=_late_now(passage, book, today),
            shares_rounds=pools.count(counts[passage.pk].pool) > 1,
        )
        spreads.setdefault(passage.spread_id, AccountSpread(passage.spread.label)).lines.append(line)
    return Account(list(spreads.values()), today, entries[-1].seq if entries else 0)


def _counts(book: Book, entries: Sequence[Entry], passages: Sequence[Passage]) -> dict[int, RoundCount]:
    """Count by the terms where some were entered, else by the stage plans (1 query, 2 under terms)."""
    history = entered_terms([book.pk]).get(book.pk)
    if history is None:
        return count_rounds(entries, allowances_for(passages))
    as_of = history.versions[0].day_rule.local_date(timezone.now())
    return counted_under(history, entries, facts_of([book.pk]), as_of)


def _seen(passages: Sequence[Passage], seat: Seat) -> list[Passage]:
    """Leave out the stages that only the illustrator sees, for everybody else."""
    if seat.role == Role.ILLUSTRATOR:
        return list(passages)
    return [passage for passage in passages if passage.stage.gate != Gate.HIDDEN]


def _late_now(passage: Passage, book: Book, today: date) -> int:
    """Count the working days by which whoever holds the passage is late now."""
    due_on = {PassageState.DRAWING: passage.due_on, PassageState.ANSWERING: passage.answer_due_on}.get(
        PassageState(passage.state)
    )
    if due_on is None or due_on >= today:
        return 0
    return max(1, working_days_between(due_on, today, book.calendar))
