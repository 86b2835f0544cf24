"""Random books under random terms, for properties that must hold of every contract and every history.

`CLAUSES` draws each field of the terms; a new clause needs one line there. `DEEDS` draws what may happen next; a new
deed needs one function there. Each book carries its terms' versions with the day on which each was entered.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from reviews.rules.contract.day_ranges import DayRange
from reviews.rules.contract.fees import CancellationStep, Instalment, Milestone, Money, Price, PricedBy
from reviews.rules.contract.periods import DayUnit, StageDays
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.terms import RoundGroup, RoundsPer, Terms, TermsHistory
from reviews.rules.contract.timeline import tell
from reviews.rules.contract.turns import all_turns
from reviews.rules.entries import Entry
from reviews.rules.states import PassageState, Side
from tests.rules.ledgers import CORVIN, JUNIPER, START, Ledger

STAGES = ("sketch", "ink", "colour")


def pounds(amount: int) -> Money:
    return Money(Decimal(amount), "GBP")


def _ranges(side: Side | None) -> st.SearchStrategy:
    days = st.dates(date(2026, 3, 1), date(2026, 6, 1))
    return days.map(lambda day: DayRange(day, day + timedelta(4), side))


@st.composite
def _days(draw: st.DrawFn) -> tuple[StageDays, ...]:
    """Days of each stage, in one unit: first and further versions, first and second looks."""
    n, m, unit = draw(st.integers(1, 12)), draw(st.integers(1, 12)), draw(st.sampled_from(DayUnit))
    redo, second = draw(st.sampled_from([None, 2])), draw(st.sampled_from([None, 1]))
    return tuple(
        StageDays(stage, n + k, m, redo_days=redo, second_look_days=second, unit=unit) for k, stage in enumerate(STAGES)
    )


_groups = st.one_of(
    st.just((RoundGroup("sketch", ("sketch",), 2), RoundGroup("colour", ("colour",), 1))),
    st.builds(lambda n, per: (RoundGroup("all", STAGES, n, per=per),), st.integers(0, 4), st.sampled_from(RoundsPer)),
)
_instalments = st.sampled_from(
    [
        (),
        (
            Instalment(name="Start", falls=Milestone.START, share=Decimal(25)),
            Instalment(name="Sketches", falls=Milestone.HAND_IN, stage="sketch", share=Decimal(25), of_spreads=50),
            Instalment(name="Colour", falls=Milestone.APPROVAL, stage="colour", share=Decimal(50), after_days=30),
        ),
    ]
)
_steps = st.sampled_from(
    [(), (CancellationStep(Milestone.START, Decimal(20)), CancellationStep(Milestone.APPROVAL, Decimal(60), "sketch"))]
)

CLAUSES: dict[str, st.SearchStrategy] = {
    "stages": _days(),
    "groups": _groups,
    "places": st.sampled_from([(), ("GB-ENG",), ("GB-ENG", "US"), ("IL", "GB-ENG"), ("", "US")]),
    "own_places": st.booleans(),
    "closures": st.lists(st.one_of(*(_ranges(side) for side in (*Side, None))), max_size=2).map(tuple),
    "worked": st.lists(_ranges(None), max_size=1).map(tuple),
    "zone": st.sampled_from(["UTC", "Europe/London", "America/New_York", "Asia/Tokyo"]),
    "cut_off": st.sampled_from([None, time(12), time(17)]),
    "late_receipt": st.sampled_from(["as-is", "next-working-day"]),
    "counts_receipt": st.booleans(),
    "brief_counts": st.booleans(),
    "new_work_after": st.sampled_from(["", "sketch"]),
    "publisher_late_moves": st.booleans(),
    "redo_from_letter": st.booleans(),
    "silence_approves_after": st.sampled_from([None, 20]),
    "hand_in_grace": st.sampled_from([0, 0, 3]),
    "answer_grace": st.sampled_from([0, 0, 3]),
    "printer_place": st.sampled_from(["", "DE"]),
    "fee": st.just(pounds(9000)),
    "round_fee": st.sampled_from([None, pounds(150)]),
    "prices": st.sampled_from([(), (Price(by=PricedBy.ROUND, after_approval=True, amount=pounds(90)),)]),
    "free_share": st.sampled_from([None, Decimal(2)]),
    "instalments": _instalments,
    "cancellation": _steps,
    "kill_pro_rata": st.booleans(),
    "rejection": _steps,
    "published_on": st.sampled_from([None, date(2026, 5, 4)]),
    "signed_on": st.sampled_from([None, date(2026, 2, 1)]),
}

#: What an amendment may change; the money and the places stay, as they mostly do.
AMENDED = ("stages", "groups", "counts_receipt", "cut_off", "late_receipt", "publisher_late_moves", "round_fee")


@dataclass
class RandomBook:
    """A ledger with its terms; ``entered`` has the moment at which each version was entered."""

    ledger: Ledger
    versions: list[Terms]
    entered: list[datetime]
    at: datetime

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
        turns = all_turns(story, Receipts(self.terms, story.terms_entries), self.at.date())[passage]
        return turns[-1].due_on if turns else None


Draw = Callable[[st.SearchStrategy], Any]


def _hand_in(book: RandomBook, passage: int, draw: Draw) -> None:
    book.ledger.hand_in(passage, book.at)


def _withdraw(book: RandomBook, passage: int, draw: Draw) -> None:
    book.ledger.withdraw(passage, book.at)


def _approve(book: RandomBook, passage: int, draw: Draw) -> None:
    book.ledger.letter(book.at, book.ledger.approve(passage))


def _ask(book: RandomBook, passage: int, draw: Draw) -> None:
    causes = draw(
        st.sampled_from([("direction",), ("brief",), ("question",), ("text", "brief"), ("brief", "question")])
    )
    story = tell(book.ledger.entries, book.ledger.spreads)
    turns = all_turns(story, Receipts(book.terms, story.terms_entries), book.at.date())[passage]
    stood = next((turn.due_on for turn in reversed(turns) if turn.side == Side.ILLUSTRATOR and turn.due_on), None)
    answer = book.ledger.ask(passage, *causes)
    entry = book.ledger.letter(book.at, answer | ({"stood_on": stood.isoformat()} if stood else {}))
    due_on = book.date_of(passage)
    entry.data["answers"][0]["due_on"] = due_on.isoformat() if due_on else None


def _two_voices(book: RandomBook, passage: int, draw: Draw) -> None:
    book.ledger.letter(book.at, book.ledger.approve_first_voice(passage))
    book.at += timedelta(hours=draw(st.integers(1, 60)))
    book.ledger.state[passage] = "approved"
    book.ledger.agree(passage, book.at)


def _move(book: RandomBook, passage: int, draw: Draw) -> None:
    day = book.at.date() + timedelta(draw(st.integers(1, 40)))
    _agreed(book.ledger.move(passage, book.at, day.isoformat()), draw)


def _move_answer(book: RandomBook, passage: int, draw: Draw) -> None:
    day = book.at.date() + timedelta(draw(st.integers(1, 20)))
    _agreed(book.ledger.move_answer(passage, book.at, day.isoformat()), draw)


def _agreed(entry: Entry, draw: Draw) -> None:
    """Let a date be moved by proposal and acceptance, or, as in older ledgers, by one side's entry."""
    if draw(st.booleans()):
        entry.data["proposed"], entry.data["forgives"] = {"by": "Corvin Mallowe"}, draw(st.booleans())


def _propose(book: RandomBook, passage: int, draw: Draw) -> None:
    """Ask for another date; until the other side answers, nothing moves."""
    day = (book.at.date() + timedelta(draw(st.integers(1, 40)))).isoformat()
    who = draw(st.sampled_from([CORVIN, JUNIPER]))
    book.ledger.add(book.at, "propose", who, passage, to=day, which=draw(st.sampled_from(["hand-in", "answer"])))


def _silence(book: RandomBook, passage: int, draw: Draw) -> None:
    silent_on = book.at.date()
    book.ledger.announce(passage, book.at, silent_on.isoformat())
    book.at = datetime.combine(silent_on + timedelta(1), time(23), UTC)
    book.ledger.silence(passage, book.at, silent_on.isoformat())


def _amend(book: RandomBook, passage: int, draw: Draw) -> None:
    changed = {name: draw(CLAUSES[name]) for name in AMENDED}
    last = book.versions[-1]
    # From the day of the book's own zone: an amendment from a day that is over there is refused.
    today = last.day_rule.local_date(book.at)
    from_on = max(last.from_on, today + timedelta(draw(st.integers(0, 5))))
    if from_on <= last.from_on:
        return
    book.versions.append(replace(last, version=last.version + 1, from_on=from_on, **changed))
    book.entered.append(book.at)
    book.ledger.add(
        book.at, "change-terms", CORVIN, None, version=last.version + 1, from_on=from_on.isoformat(), terms={}
    )


#: By the state of a passage, what may happen to it; the walk draws one of them.
DEEDS: dict[PassageState, tuple[Callable[[RandomBook, int, Draw], None], ...]] = {
    PassageState.DRAWING: (_hand_in, _hand_in, _hand_in, _move, _propose, _amend),
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
    ),
    PassageState.APPROVED: (_ask, _amend),
}


@st.composite
def random_books(draw: st.DrawFn, max_deeds: int = 24) -> RandomBook:
    """A walk of deeds on a small book, whose work may begin later than it is laid out."""
    first = Terms(version=1, from_on=date(2026, 1, 1), **{name: draw(one) for name, one in CLAUSES.items()})
    ledger = Ledger(n_spreads=draw(st.integers(1, 2)), stages=STAGES, due_on=("2026-03-09", "2026-03-20", "2026-04-20"))
    ledger.entries[0].data["start_on"] = (START.date() + timedelta(draw(st.sampled_from([0, 0, 0, 4, 30])))).isoformat()
    book = RandomBook(ledger, [first], [START - timedelta(1)], START)
    for _ in range(draw(st.integers(0, max_deeds))):
        # Mostly working hours, now and then an evening or a weekend, and sometimes within the hour.
        book.at += timedelta(minutes=draw(st.sampled_from([20, 180, 540, 1440, 4300, 9000])))
        passage = draw(st.sampled_from(sorted(p for p, state in ledger.state.items() if state != "closed")))
        draw(st.sampled_from(DEEDS[PassageState(ledger.state[passage])]))(book, passage, draw)
    return book
