"""Random books under random terms, for properties that must hold of every contract and every history.

`DEEDS` draws what may happen next to a passage, `BOOK_DEEDS` what may be told of the whole book: money, hours, the last
day. A new deed that the account reads needs one function there. Each book carries its terms' versions with the day on
which each was entered.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from hypothesis import strategies as st

from reviews.rules.contract.bills import Bill
from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.date_moves import times_moved
from reviews.rules.contract.fees import COVER, PricedBy
from reviews.rules.contract.fixed_dates import dates_set, sets_other_dates
from reviews.rules.contract.pauses import check_change, check_pause, in_force
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.silence import silences
from reviews.rules.contract.statement import Statement, draw_up
from reviews.rules.contract.terms import Terms, TermsHistory
from reviews.rules.contract.timeline import tell
from reviews.rules.contract.turns import all_turns
from reviews.rules.entries import Entry
from reviews.rules.states import Deed, PassageState, Refused, Side
from tests.rules.ledgers import CORVIN, JUNIPER, PETRA, START, Ledger
from tests.rules.random_terms import STAGES, amended, first_terms


@dataclass
class SentLetter:
    """A letter, and how its passages stood before it: for taking it back."""

    entry: Entry
    stood: dict[int, str]


@dataclass(repr=False)
class RandomBook:
    """A ledger with its terms; ``entered`` has the moment at which each version was entered."""

    ledger: Ledger
    versions: list[Terms]
    entered: list[datetime]
    at: datetime
    final_on: date | None = None
    letters: list[SentLetter] = field(default_factory=list)
    n_invoices: int = 0

    def __repr__(self) -> str:
        """Write a failing book so that it can be read: the clauses that are not the default, and the ledger."""
        lines = [f"RandomBook: final {self.final_on}"]
        for version in self.versions:
            said = {each.name: getattr(version, each.name) for each in fields(version)}
            own = {each.name: said[each.name] for each in fields(version) if said[each.name] != each.default}
            lines.append(f"  {own}")
        lines += [f"  {one.seq} {one.at} {one.deed} {one.passage} {one.data}" for one in self.ledger.entries]
        return "\n".join(lines)

    def terms_by(self, moment: datetime) -> TermsHistory:
        """Give the versions that were entered before a moment; the first was there before everything."""
        known = zip(self.versions, self.entered, strict=True)
        return TermsHistory(tuple(version for version, at in known if at < moment) or (self.versions[0],))

    @property
    def terms(self) -> TermsHistory:
        return TermsHistory(tuple(self.versions))

    def date_of(self, passage: int) -> date | None:
        """Give the date that a passage which is held has, as both sides are told it."""
        story = tell(self.ledger.entries, self.ledger.spreads)
        turns = all_turns(story, Receipts(self.terms, story.told_by, story.pauses), self.at.date())[passage]
        return turns[-1].due_on if turns else None

    def statement(self) -> Statement:
        """Draw the account up as it stands at this moment."""
        as_of = self.terms.on(self.at.date()).day_rule.local_date(self.at)
        return draw_up(self.ledger.entries, self.terms, as_of, self.ledger.spreads, final_on=self.final_on)

    def send(self, *passages: int, answers: Callable[[int], dict[str, Any]]) -> Entry:
        """Send a letter, and keep how its passages stood before."""
        stood = dict(self.ledger.state)
        entry = self.ledger.letter(self.at, *(answers(passage) for passage in passages))
        self.letters.append(SentLetter(entry, stood))
        return entry


Draw = Callable[[st.SearchStrategy], Any]


def _hand_in(book: RandomBook, passage: int, draw: Draw) -> None:
    book.ledger.hand_in(passage, book.at)


def _withdraw(book: RandomBook, passage: int, draw: Draw) -> None:
    book.ledger.withdraw(passage, book.at)


def _approve(book: RandomBook, passage: int, draw: Draw) -> None:
    book.send(passage, answers=book.ledger.approve)


def _ask(book: RandomBook, passage: int, draw: Draw) -> None:
    causes = draw(
        st.sampled_from([("direction",), ("brief",), ("question",), ("text", "brief"), ("brief", "question")])
    )
    story = tell(book.ledger.entries, book.ledger.spreads)
    turns = all_turns(story, Receipts(book.terms, story.told_by, story.pauses), book.at.date())[passage]
    stood = next((turn.due_on for turn in reversed(turns) if turn.side == Side.ILLUSTRATOR and turn.due_on), None)
    own = {"stood_on": stood.isoformat()} if stood else {}
    entry = book.send(passage, answers=lambda of: book.ledger.ask(of, *causes) | own)
    due_on = book.date_of(passage)
    entry.data["answers"][0]["due_on"] = due_on.isoformat() if due_on else None
    if draw(st.booleans()):
        book.at += timedelta(hours=1)
        _hours(book, draw)


def _two_voices(book: RandomBook, passage: int, draw: Draw) -> None:
    book.ledger.letter(book.at, book.ledger.approve_first_voice(passage))
    book.at += timedelta(hours=draw(st.integers(1, 60)))
    if draw(st.sampled_from([True, True, False])):
        book.ledger.state[passage] = "approved"
        book.ledger.agree(passage, book.at)
    else:
        book.ledger.state[passage] = "answering"
        book.ledger.add(book.at, "object-to-approval", PETRA, passage, completes=False)


def _move(book: RandomBook, passage: int, draw: Draw) -> None:
    day = book.at.date() + timedelta(draw(st.integers(1, 40)))
    if _may_move(book, passage, "hand-in"):
        _agreed(book.ledger.move(passage, book.at, day.isoformat()), draw)


def _move_answer(book: RandomBook, passage: int, draw: Draw) -> None:
    day = book.at.date() + timedelta(draw(st.integers(1, 20)))
    if _may_move(book, passage, "answer"):
        _agreed(book.ledger.move_answer(passage, book.at, day.isoformat()), draw)


def _may_move(book: RandomBook, passage: int, which: str) -> bool:
    """Keep to the number of moves that the terms allow, as the portal does."""
    most = book.terms.at(book.at).moves_at_most
    moves = [one.data for one in book.ledger.entries if one.deed == Deed.MOVE_DUE_DATE and one.passage == passage]
    return most is None or times_moved([move | {"from": "2026-01-01"} for move in moves], which) < most


def _agreed(entry: Entry, draw: Draw) -> None:
    """Let a date be moved by proposal and acceptance, or, as in older ledgers, by one side's entry."""
    if draw(st.booleans()):
        entry.data["proposed"], entry.data["forgives"] = {"by": "Corvin Mallowe"}, draw(st.booleans())


def _propose(book: RandomBook, passage: int, draw: Draw) -> None:
    """Ask for another date; until the other side answers, nothing moves."""
    day = (book.at.date() + timedelta(draw(st.integers(1, 40)))).isoformat()
    who = draw(st.sampled_from([CORVIN, JUNIPER]))
    book.ledger.add(book.at, "propose", who, passage, to=day, which=draw(st.sampled_from(["hand-in", "answer"])))


def _pause(book: RandomBook, passage: int, draw: Draw) -> None:
    """Let both sides agree on a pause to come, under way or past, or on other days for one that stands."""
    on = book.terms.at(book.at).day_rule.local_date(book.at)
    story = tell(book.ledger.entries, book.ledger.spreads)
    standing = {one.number: one for one in in_force(story.pauses)}
    number = draw(st.sampled_from([None, *standing]))
    forgives = draw(st.sampled_from([(), (Side.ILLUSTRATOR.value,), (Side.PUBLISHER.value,)]))
    first = on + timedelta(draw(st.integers(-20, 20)))
    last: date | None = first + timedelta(draw(st.integers(0, 20)))
    if number is not None and standing[number].first <= on:
        first, last = standing[number].first, on + timedelta(draw(st.integers(0, 20)))
    elif number is not None:
        last = draw(st.sampled_from([last, None]))
    others = [one for key, one in standing.items() if key != number]
    try:
        check_pause(first, last, others, start_on=story.start_on or first, calendars=[working_calendar()])
        if number is not None:
            check_change(standing[number], first, last, on)
    except Refused:
        return
    until = last.isoformat() if last else None
    book.ledger.pause(book.at, first.isoformat(), until, book.terms, pause=number, forgives=forgives)


def _silence(book: RandomBook, passage: int, draw: Draw) -> None:
    silent_on = book.at.date()
    book.ledger.announce(passage, book.at, silent_on.isoformat())
    book.at = datetime.combine(silent_on + timedelta(1), time(23), UTC)
    book.ledger.silence(passage, book.at, silent_on.isoformat())


def _amend(book: RandomBook, passage: int, draw: Draw) -> None:
    last = book.versions[-1]
    draft = draw(amended(last, last.from_on))
    # From the day of either zone: an amendment from a day that is over there is refused.
    today = max(version.day_rule.local_date(book.at) for version in (last, draft))
    from_on = max(last.from_on, today + timedelta(draw(st.integers(0, 5))))
    if sets_other_dates(last, draft):
        from_on = max(last.from_on, today)  # a date is fixed from the day on which both sides agree to it
    if from_on <= last.from_on:
        return
    made = replace(draft, from_on=from_on)
    fixes = _fixes(book, last, made)
    book.versions.append(made)
    book.entered.append(book.at)
    book.ledger.add(
        book.at, "change-terms", CORVIN, None, version=last.version + 1, from_on=from_on.isoformat(), terms={},
        fixes=fixes,
    )  # fmt: skip


def _fixes(book: RandomBook, last: Terms, made: Terms) -> list[dict[str, Any]]:
    """List the dates that an amendment fixes, as the portal writes them into its line."""
    story = tell(book.ledger.entries, book.ledger.spreads)
    [was, now] = TermsHistory((last, made)).paused(tuple(one.as_range for one in in_force(story.pauses))).versions
    running = all_turns(story, Receipts(book.terms, story.told_by, story.pauses), book.at.date())
    return [
        {"where": "", "passage": one.passage, "which": one.which, "was_on": "", "due_on": one.due_on.isoformat()}
        for one in dates_set(story, was, now, running)
    ]


#: By the state of a passage, what may happen to it; the walk draws one of them.
DEEDS: dict[PassageState, tuple[Callable[[RandomBook, int, Draw], None], ...]] = {
    PassageState.DRAWING: (_hand_in, _hand_in, _hand_in, _move, _propose, _amend, _pause),
    PassageState.ANSWERING: (
        _approve,
        _approve,
        _ask,
        _ask,
        _withdraw,
        _two_voices,
        _move_answer,
        _silence,
        _propose,
        _amend,
        _pause,
    ),
    PassageState.APPROVED: (_ask, _amend),
}


def _take_back(book: RandomBook, draw: Draw) -> None:
    """Take the newest letter back that nobody has answered, where the portal would let it be taken back."""
    for sent in reversed(book.letters):
        touched = {one for answer in sent.entry.data["answers"] for one in (answer["passage"], *answer["opens"])}
        later = [one for one in book.ledger.entries if one.seq > sent.entry.seq]
        if any(one.passage in touched or touched & _named_in(one) for one in later) or touched & set(book.ledger.away):
            continue
        states = {f"p{passage}": sent.stood[passage] for passage in touched}
        now = dict(book.ledger.state)
        book.ledger.take_back(sent.entry, book.at, **states)
        over = {one.passage for one in silences(book.statement()) if one.deed == Deed.APPROVE_BY_SILENCE}
        if over & touched or any(one.deed == Deed.INVOICE for one in later):
            book.ledger.entries.pop()
            book.ledger.state = now
            return
        book.letters.remove(sent)
        return


def _named_in(entry: Entry) -> set[int]:
    moved = (*entry.data.get("dropped", ()), *entry.data.get("back", ()))
    return {
        passage
        for answer in entry.data.get("answers", ())
        for passage in (answer["passage"], *answer["opens"])
    } | {passage for one in moved for passage in one["passages"]}  # fmt: skip


def _bills(book: RandomBook) -> list[Bill]:
    return list(tell(book.ledger.entries, book.ledger.spreads).bills.values())


def _invoice(book: RandomBook, draw: Draw) -> None:
    book.n_invoices += 1
    names = ["", *(part.name for part in book.versions[-1].instalments)]
    amount, currency = draw(st.sampled_from([("150.00", "GBP"), ("2250.00", "GBP"), ("2500", "JPY")]))
    book.ledger.invoice(book.n_invoices, amount, book.at, draw(st.sampled_from(names)), currency)


def _withdraw_invoice(book: RandomBook, draw: Draw) -> None:
    for bill in _bills(book):
        if not (bill.said_paid or bill.received):
            book.ledger.add(
                book.at, "withdraw-invoice", JUNIPER, None, invoice=bill.invoice, number=bill.number, reason="Twice"
            )
            return


def _pay(book: RandomBook, draw: Draw) -> None:
    """Let either side say that an invoice, or a part of it, was paid or came; now and then it is more than is left."""
    bills = _bills(book)
    if not bills:
        return
    bill = draw(st.sampled_from(bills))
    tell = draw(st.sampled_from([book.ledger.paid, book.ledger.received, book.ledger.received]))
    so_far = bill.received if tell == book.ledger.received else bill.said_paid
    parts = [None] if not so_far else []
    parts += ["40.00", "110.00", "2250.00"] if bill.money.currency == "GBP" else []
    if parts:
        tell(bill.invoice, book.at, draw(st.sampled_from(parts)))


def _payment_back(book: RandomBook, draw: Draw) -> None:
    told = [one.seq for bill in _bills(book) for one in (*bill.said_paid, *bill.received)]
    if told:
        book.ledger.payment_back(book.ledger.entries[draw(st.sampled_from(told)) - 1], book.at)


def _hours(book: RandomBook, draw: Draw) -> None:
    """Tell the hours of a round by the hour, anew where they were told before; mostly the other side agrees."""
    for extra in book.statement().money.extras:
        if extra.price is None or extra.price.by != PricedBy.HOUR or (extra.hours and extra.hours.agreed is not None):
            continue
        letter, passage = book.ledger.entries[extra.round.seq - 1], extra.round.passage
        book.ledger.tell_hours(letter, passage, draw(st.sampled_from(["0.25", "7", "12.5"])), book.at)
        if draw(st.sampled_from([True, True, False])):
            book.at += timedelta(hours=draw(st.integers(1, 30)))
            book.ledger.agree_hours(letter, passage, book.ledger.entries[-1].data["hours"], book.at)
        return


def _change_book(book: RandomBook, draw: Draw) -> None:
    """Move the day by which the art must be approved."""
    final_on = book.at.date() + timedelta(draw(st.integers(10, 90)))
    told = {"from": book.final_on.isoformat() if book.final_on else None, "to": final_on.isoformat()}
    book.ledger.add(book.at, "change-book", CORVIN, None, changed={"final_on": told})
    book.final_on = final_on


def _repage(book: RandomBook, draw: Draw) -> None:
    """Drop a spread, bring one back or add one, as both sides agree."""
    ledger, due_on = book.ledger, (book.at.date() + timedelta(draw(st.integers(3, 20)))).isoformat()
    live = sorted({passage // 100 for passage in ledger.state})
    gone = sorted({passage // 100 for passage in ledger.away})
    what = draw(st.sampled_from(["drop", "back", "add"]))
    if what == "drop" and len(live) > 1:
        ledger.drop(draw(st.sampled_from(live)), book.at)
    elif what == "back" and gone:
        ledger.bring_back(draw(st.sampled_from(gone)), book.at, due_on)
    elif what == "add" and len(ledger.spreads) < 4:
        ledger.add_spread(len(ledger.spreads) + 1, book.at, due_on)


#: What may be told of the whole book at any time; each does nothing where there is nothing to tell it of.
BOOK_DEEDS: tuple[Callable[[RandomBook, Draw], None], ...] = (
    _take_back,
    _invoice,
    _invoice,
    _withdraw_invoice,
    _pay,
    _pay,
    _pay,
    _payment_back,
    _hours,
    _hours,
    _hours,
    _change_book,
    _repage,
    _repage,
)


@st.composite
def random_books(draw: st.DrawFn, max_deeds: int = 30) -> RandomBook:
    """A walk of deeds on a small book, whose work may begin later than it is laid out."""
    first = draw(first_terms())
    ledger = Ledger(n_spreads=draw(st.integers(1, 2)), stages=STAGES, due_on=("2026-03-09", "2026-03-20", "2026-04-20"))
    if draw(st.booleans()):
        ledger.spreads[1] = replace(ledger.spreads[1], part=COVER)
    ledger.entries[0].data["start_on"] = (START.date() + timedelta(draw(st.sampled_from([0, 0, 0, 4, 30])))).isoformat()
    final_on = draw(st.sampled_from([None, date(2026, 4, 30)]))
    book = RandomBook(ledger, [first], [START - timedelta(1)], START, final_on)
    for _ in range(draw(st.sampled_from([0, max_deeds // 3, max_deeds // 2, max_deeds]))):
        # Mostly working hours, now and then an evening or a weekend, and sometimes within the hour.
        book.at += timedelta(minutes=draw(st.sampled_from([20, 180, 540, 1440, 4300, 9000])))
        if draw(st.sampled_from([False, False, True])):
            draw(st.sampled_from(BOOK_DEEDS))(book, draw)
            continue
        passage = draw(st.sampled_from(sorted(p for p, state in ledger.state.items() if state != "closed")))
        draw(st.sampled_from(DEEDS[PassageState(ledger.state[passage])]))(book, passage, draw)
    return book
