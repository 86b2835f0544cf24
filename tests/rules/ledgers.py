"""Builds ledgers for the tests of rules: the keys are those that `reviews.rules.entries` documents."""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any

from hypothesis import strategies as st

from reviews.rules.contract.due_dates import due_dates_of
from reviews.rules.contract.pause_moves import dates_moved
from reviews.rules.contract.pauses import PauseWord
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.terms import RoundGroup, StageDays, Terms, TermsHistory
from reviews.rules.contract.timeline import SpreadFacts, Story, tell
from reviews.rules.contract.turn import Turn
from reviews.rules.contract.turns import all_turns
from reviews.rules.entries import Entry
from reviews.rules.states import PassageState, Side

JUNIPER = ("illustrator", "Juniper Aldersea")
CORVIN = ("art_director", "Corvin Mallowe")
PETRA = ("editor", "Petra Innisfold")
PORTAL = ("machine", "The portal")

#: A Monday.
START = datetime(2026, 3, 2, 9, tzinfo=UTC)


def day(text: str, hour: int = 12) -> datetime:
    return datetime.fromisoformat(text).replace(hour=hour, tzinfo=UTC)


def plain_terms(**changes: Any) -> Terms:
    """Two stages, five days to draw and three to answer, two rounds each, Monday to Friday."""
    fields: dict[str, Any] = {
        "version": 1,
        "from_on": date(2026, 1, 1),
        "stages": (StageDays("sketch", 5, 3), StageDays("colour", 5, 3)),
        "groups": (RoundGroup("sketch", ("sketch",), 2), RoundGroup("colour", ("colour",), 2)),
    }
    return Terms(**(fields | changes))


def history(*versions: Terms, **changes: Any) -> TermsHistory:
    return TermsHistory(versions or (plain_terms(**changes),))


class Ledger:
    """A book of `n_spreads` spreads; passage 101 is spread 1 at the first stage, 102 at the second, and so on."""

    def __init__(
        self,
        n_spreads: int = 2,
        stages: Sequence[str] = ("sketch", "colour"),
        at: datetime = START,
        due_on: Iterable[str] = ("2026-03-09", "2026-03-20"),
        gate: str = "answers",
    ) -> None:
        self.entries: list[Entry] = []
        self.stages = list(stages)
        self.spreads = {n: SpreadFacts(n, n, f"Opening {n}") for n in range(1, n_spreads + 1)}
        self.state = {self.passage(n, k): "closed" for n in self.spreads for k in range(len(stages))}
        self.number = dict.fromkeys(self.state, 0)
        self.away: dict[int, str] = {}
        self.letters = 0
        due = [*due_on, *("2026-06-01" for _ in stages)]
        opens = [self.passage(n, 0) for n in self.spreads]
        self.state.update(dict.fromkeys(opens, "drawing"))
        self.add(
            at,
            "make-book",
            CORVIN,
            None,
            start_on=at.date().isoformat(),
            spreads=[{"spread": n, "position": n, "pages": [2 * n, 2 * n + 1]} for n in self.spreads],
            passages=[
                {
                    "passage": self.passage(n, k),
                    "spread": n,
                    "stage": stage,
                    "gate": gate,
                    "position": k,
                    "due_on": due[k],
                }
                for n in self.spreads
                for k, stage in enumerate(stages)
            ],
            opens=opens,
        )

    @staticmethod
    def passage(spread: int, stage: int) -> int:
        return spread * 100 + 1 + stage

    def add(self, at: datetime, deed: str, who: tuple[str, str], passage: int | None, **data: Any) -> Entry:
        entry = Entry(seq=len(self.entries) + 1, at=at, deed=deed, role=who[0], by=who[1], passage=passage, data=data)
        self.entries.append(entry)
        return entry

    def hand_in(self, passage: int, at: datetime) -> Entry:
        self.number[passage] += 1
        self.state[passage] = "answering"
        return self.add(
            at, "hand-in", JUNIPER, passage, number=self.number[passage], to="answering", opens=[], answer_due_on=None
        )

    def withdraw(self, passage: int, at: datetime) -> Entry:
        self.state[passage] = "drawing"
        return self.add(at, "withdraw-hand-in", JUNIPER, passage, number=self.number[passage], to="drawing")

    def letter(self, at: datetime, *answers: dict[str, Any]) -> Entry:
        self.letters += 1
        return self.add(at, "send-letter", CORVIN, None, letter=self.letters, answers=list(answers), notes=[], held=[])

    def ask(self, passage: int, *causes: str, due_on: str | None = None) -> dict[str, Any]:
        reopened = self.state[passage] == "approved"
        self.state[passage] = "drawing"
        return {
            "passage": passage,
            "answer": "ask",
            "causes": list(causes or ("direction",)),
            "reopened": reopened,
            "to": "drawing",
            "opens": [],
            "due_on": due_on,
        }

    def approve(self, passage: int, *, small: bool = False) -> dict[str, Any]:
        self.state[passage] = "approved"
        return {
            "passage": passage,
            "answer": "approve_small" if small else "approve",
            "causes": [],
            "reopened": False,
            "to": "approved",
            "opens": self._opens(passage),
        }

    def approve_first_voice(self, passage: int) -> dict[str, Any]:
        return self.approve(passage) | {"to": "answering", "opens": [], "waits_for_second": True}

    def agree(self, passage: int, at: datetime) -> Entry:
        return self.add(at, "agree-approval", PETRA, passage, completes=True, to="approved", opens=self._opens(passage))

    def announce(self, passage: int, at: datetime, silent_on: str) -> Entry:
        return self.add(at, "announce-silence", PORTAL, passage, silent_on=silent_on)

    def silence(self, passage: int, at: datetime, silent_on: str) -> Entry:
        self.state[passage] = "approved"
        opens = self._opens(passage)
        return self.add(
            at, "approve-by-silence", PORTAL, passage, silent_on=silent_on, to="approved", sha256="", opens=opens
        )

    def move(self, passage: int, at: datetime, to: str, reason: str = "A wedding in the family") -> Entry:
        return self._move(passage, at, "hand-in", to, reason)

    def move_answer(self, passage: int, at: datetime, to: str, reason: str = "The fair") -> Entry:
        return self._move(passage, at, "answer", to, reason)

    def agree_date(
        self, passage: int, at: datetime, to: str, which: str = "hand-in", *, forgives: bool = False
    ) -> Entry:
        """Move a date as the illustrator proposed and the art director agreed."""
        proposed = {"number": 1, "by": JUNIPER[1], "role": JUNIPER[0], "on": at.date().isoformat()}
        told = {"to": to, "which": which, "proposed": proposed, "late": 0, "forgives": forgives, "from": None}
        return self.add(at, "move-due-date", CORVIN, passage, reason="A wedding in the family", **told)

    def _move(self, passage: int, at: datetime, which: str, to: str, reason: str) -> Entry:
        return self.add(at, "move-due-date", CORVIN, passage, to=to, reason=reason, which=which, **{"from": None})

    def pause(
        self,
        at: datetime,
        first: str,
        last: str | None,
        terms: TermsHistory | None = None,
        *,
        pause: int | None = None,
        forgives: Sequence[str] = (),
        reason: str = "A broken wrist",
    ) -> Entry:
        """Let both sides agree that the work rests: the illustrator proposed it, the art director agreed."""
        story, terms = tell(self.entries, self.spreads), terms or history()
        number = pause or max((word.pause for word in story.pauses), default=0) + 1
        on = terms.at(at).day_rule.local_date(at)
        word = PauseWord(
            pause=number,
            seq=len(self.entries) + 1,
            first=date.fromisoformat(first),
            last=date.fromisoformat(last) if last else None,
        )
        moved = [
            {
                "where": str(one.passage),
                "passage": one.passage,
                "which": one.which,
                "was_on": one.was_on.isoformat(),
                "due_on": one.due_on.isoformat(),
            }
            for one in dates_moved(story, terms, word, self._stands(story, terms, on), on)
        ]
        proposed = {"number": 1, "by": JUNIPER[1], "role": JUNIPER[0], "on": on.isoformat()}
        return self.add(
            at, "agree-pause", CORVIN, None, pause=number, first=first, last=last, was=None, reason=reason,
            proposed=proposed, forgives=list(forgives), late={}, moved=moved,
        )  # fmt: skip

    @staticmethod
    def _stands(story: Story, terms: TermsHistory, on: date) -> dict[tuple[int, str], date]:
        """Give the dates that a book's rows would carry of what is under way."""
        receipts = Receipts(terms, story.told_by, story.pauses)
        running = all_turns(story, receipts, on)
        due = due_dates_of(story, receipts, running, on)
        found = {}
        for passage, own in running.items():
            if own and own[-1].is_open:
                found[passage, "hand-in"] = due[passage].current_on
                if own[-1].side == Side.PUBLISHER:
                    found[passage, "answer"] = own[-1].due_on
        return {key: day for key, day in found.items() if day}

    def take_back(self, letter: Entry, at: datetime, **states: str) -> Entry:
        """Take a letter back; its passages stand again as they did, waiting for an answer unless ``states`` says so."""
        passages = []
        for answer in letter.data["answers"]:
            passage = answer["passage"]
            self.state[passage] = states.get(f"p{passage}", "answering")
            self.state.update(dict.fromkeys(answer["opens"], "closed"))
            passages.append({"passage": passage, "to": self.state[passage], "due_on": None, "answer_due_on": None})
        return self.add(
            at, "take-back-letter", CORVIN, None, letter=letter.data["letter"], number=letter.data["letter"],
            sent=letter.seq, reason="Sent too early", passages=passages,
        )  # fmt: skip

    def drop(self, spread: int, at: datetime) -> Entry:
        """Let both sides agree that a spread is dropped; what is open there waits as it is."""
        passages = [self.passage(spread, k) for k in range(len(self.stages))]
        for passage in passages:
            self.away[passage] = self.state.pop(passage)
        gone = {"spread": spread, "label": f"Opening {spread}", "pages": [2, 3], "passages": passages}
        return self._repage(at, dropped=[gone])

    def bring_back(self, spread: int, at: datetime, due_on: str) -> Entry:
        """Bring a dropped spread back; what was open there is due on a day."""
        passages = [self.passage(spread, k) for k in range(len(self.stages))]
        for passage in passages:
            self.state[passage] = self.away.pop(passage)
        opens = [one for one in passages if self.state[one] == "drawing"]
        answers = {str(one): due_on for one in passages if self.state[one] == "answering"}
        back = {"spread": spread, "was": "", "label": "", "pages": [2, 3], "position": spread, "passages": passages}
        dues = dict.fromkeys(map(str, opens), due_on)
        return self._repage(at, back=[back], opens=opens, dues=dues, answer_dues=answers)

    def add_spread(self, spread: int, at: datetime, due_on: str) -> Entry:
        """Add a spread to the book under way, its first stage open."""
        self.spreads[spread] = SpreadFacts(spread, spread, f"Opening {spread}")
        passages = [self.passage(spread, k) for k in range(len(self.stages))]
        self.state |= dict.fromkeys(passages, "closed") | {passages[0]: "drawing"}
        self.number |= dict.fromkeys(passages, 0)
        made = [
            {"passage": one, "spread": spread, "stage": stage, "gate": "answers", "position": k, "due_on": due_on}
            for k, (one, stage) in enumerate(zip(passages, self.stages, strict=True))
        ]
        return self._repage(at, passages=made, opens=passages[:1], dues={str(passages[0]): due_on})

    def _repage(self, at: datetime, **told: Any) -> Entry:
        blank: dict[str, Any] = {
            "n_pages": [16, 16], "dropped": [], "back": [], "added": [], "placed": [], "answer_dues": {},
            "instalments": [], "stopped": [], "reason": "The middle is too long", "start_on": None, "spreads": [],
            "passages": [], "opens": [], "printers": [], "dues": {},
        }  # fmt: skip
        return self.add(at, "repage", CORVIN, None, **(blank | told))

    def invoice(self, invoice: int, amount: str, at: datetime, name: str = "", currency: str = "GBP") -> Entry:
        money = {"amount": amount, "currency": currency}
        on = at.date().isoformat()
        return self.add(
            at,
            "invoice",
            JUNIPER,
            None,
            invoice=invoice,
            number=f"J-{invoice}",
            name=name,
            words="",
            money=money,
            on=on,
        )

    def paid(self, invoice: int, at: datetime, amount: str | None = None) -> Entry:
        return self._payment("say-paid", CORVIN, invoice, at, amount)

    def received(self, invoice: int, at: datetime, amount: str | None = None) -> Entry:
        return self._payment("confirm-payment", JUNIPER, invoice, at, amount)

    def _payment(self, deed: str, who: tuple[str, str], invoice: int, at: datetime, amount: str | None) -> Entry:
        """Tell a payment in pounds; without an amount as entries of before parts did, of the whole invoice."""
        told = {} if amount is None else {"payment": len(self.entries), "money": {"amount": amount, "currency": "GBP"}}
        return self.add(at, deed, who, None, invoice=invoice, number=f"J-{invoice}", on=at.date().isoformat(), **told)

    def payment_back(self, told: Entry, at: datetime) -> Entry:
        """Take one side's word of a payment back."""
        said = "paid" if told.deed == "say-paid" else "received"
        return self.add(
            at, "withdraw-payment", (told.role, told.by), None, payment=told.data.get("payment", 0),
            invoice=told.data["invoice"], number=told.data["number"], said=said, on=told.data["on"], told=told.seq,
            money=told.data.get("money", {"amount": "1", "currency": "GBP"}), reason="By mistake",
        )  # fmt: skip

    def tell_hours(self, letter: Entry, passage: int, hours: str, at: datetime) -> Entry:
        return self.add(at, "tell-hours", JUNIPER, passage, round=letter.seq, letter=1, hours=hours)

    def agree_hours(self, letter: Entry, passage: int, hours: str, at: datetime) -> Entry:
        return self.add(at, "agree-hours", CORVIN, passage, round=letter.seq, letter=1, hours=hours)

    def _opens(self, passage: int) -> list[int]:
        following = passage + 1
        if self.state.get(following) != "closed":
            return []
        self.state[following] = "drawing"
        return [following]


@st.composite
def ledgers(draw: st.DrawFn, max_deeds: int = 30) -> Ledger:
    """A random walk of deeds on a small book, each one allowed where its passage stands."""
    book = Ledger(n_spreads=draw(st.integers(1, 3)), stages=("sketch", "ink", "colour"))
    at = START
    for _ in range(draw(st.integers(0, max_deeds))):
        at += timedelta(hours=draw(st.integers(0, 120)))
        passage = draw(st.sampled_from(sorted(p for p, state in book.state.items() if state != "closed")))
        state = PassageState(book.state[passage])
        if state == PassageState.DRAWING:
            book.hand_in(passage, at)
        elif state == PassageState.APPROVED:
            book.letter(at, book.ask(passage, "direction"))
        else:
            choice = draw(st.sampled_from(["ask", "brief", "approve", "withdraw"]))
            if choice == "withdraw":
                book.withdraw(passage, at)
            else:
                book.letter(at, book.approve(passage) if choice == "approve" else book.ask(passage, _CAUSE[choice]))
    return book


_CAUSE = {"ask": "direction", "brief": "brief"}


def turns(book: Ledger, terms: TermsHistory | None = None, as_of: date = date(2027, 1, 1)) -> dict[int, list[Turn]]:
    """Divide a ledger's days into turns, by passage."""
    story = tell(book.entries, book.spreads)
    return all_turns(story, Receipts(terms or history(), pauses=story.pauses), as_of)
