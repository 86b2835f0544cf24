"""What a letter would cost in rounds, days and money, told to the art director before it is sent."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal

from reviews.rules.contract.amounts import in_purse
from reviews.rules.contract.days import day_zero
from reviews.rules.contract.extras import EXTRA, Pricer, price_of
from reviews.rules.contract.fees import Price
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.rounds import Before, RoundStanding, is_of_the_letter, standing_of
from reviews.rules.contract.rounds_used import GroupKey, approved_first, key_of
from reviews.rules.contract.statement import Statement
from reviews.rules.contract.terms import Money, Terms, TermsHistory, WhenOver
from reviews.rules.contract.timeline import AboutPassage, Event, PassageStory, Story
from reviews.rules.contract.turns import if_answered
from reviews.rules.states import Answer, Cause, Deed, PassageState, Refused, Role, Side, where_name


@dataclass(frozen=True)
class PlannedAsk:
    """One passage the letter would ask to change, and why; ``where`` is what its book calls it, else its usual name."""

    passage: int
    causes: tuple[Cause, ...]
    where: str = ""


@dataclass(frozen=True, kw_only=True)
class AskCost:
    """What asking for this change would mean.

    number, included  this would be round 3, where the fee covers 2
    price, money      what the terms ask for a round beyond or outside; no money where they name no fixed fee
    due_on            when the illustrator would have to hand in again
    days_late         working days this answer is late by, which move the dates if the terms say so; None where none was
                      due, and so nothing can be late or on time
    is_due_untold     whether an older entry does not tell if an answer was due; then there are no days_late either
    counted_with      the passage on which the round of this letter is counted already, where one letter is one round
    """

    passage: int
    where: str
    standing: RoundStanding
    number: int
    included: int
    price: Price | None
    money: Money | None
    due_on: date | None
    days_late: int | None
    counted_with: int | None = None
    is_due_untold: bool = False

    @property
    def is_extra(self) -> bool:
        """Say whether this is beyond or outside the fee."""
        return self.standing in EXTRA

    @property
    def is_charged(self) -> bool:
        """Say whether it is beyond or outside the fee by itself: of one letter's round, only the first spread is."""
        return self.is_extra and self.counted_with is None


@dataclass(frozen=True, kw_only=True)
class LetterCost:
    """The cost of a whole letter. `fees` are kept by currency; `is_priced` is False where a fee is by the hour.

    `received_on` is the day on which a letter that goes at this moment counts as received.
    """

    asks: tuple[AskCost, ...]
    fees: Mapping[str, Decimal]
    is_priced: bool
    when_over: WhenOver
    received_on: date

    @property
    def over(self) -> tuple[AskCost, ...]:
        """Name the asks that go beyond the rounds in the fee."""
        return tuple(ask for ask in self.asks if ask.standing == RoundStanding.OVER)


def cost_of_letter(story: Story, statement: Statement, asks: Sequence[PlannedAsk], at: datetime) -> LetterCost:
    """Work out what a letter would cost if it went at this moment.

    Days are counted by telling the statement's own reading of the ledger that the letter had gone. Asks that share
    rounds use them up in the given order.
    """
    terms = statement.terms
    receipts = Receipts(TermsHistory(statement.versions), story.told_by, story.pauses)
    used, approved, letter = deepcopy(statement.rounds.used), approved_first(story), story.last_seq + 1
    stands = {line.passage: line.due.current_on for line in statement.lines}
    counted: Counter[GroupKey] = Counter()
    first: dict[GroupKey, int] = {}
    costs, pricer = [], Pricer()
    for ask in asks:
        told = story.passages[ask.passage]
        was_approved = told.state == PassageState.APPROVED or told.was_reopened
        settled = (told.spread.spread, terms.new_work_after) in approved
        before = Before(used=used, was_approved=was_approved, is_settled=settled, letter=letter)
        cost = _cost(told, ask, terms, before, _if_sent(story, told, receipts, at, stands[ask.passage]))
        key = key_of(told.spread, told.stage, terms)
        if is_of_the_letter(told, cost.standing, terms) and first.setdefault(key, ask.passage) != ask.passage:
            cost = replace(cost, counted_with=first[key])
        elif cost.standing in (RoundStanding.IN_FEE, RoundStanding.OVER):
            counted[key] += 1
        if cost.is_extra and cost.counted_with is None:
            price = price_of(terms, told.stage, after_approval=cost.standing == RoundStanding.OUTSIDE)
            cost = replace(cost, price=price, money=pricer.ask(price, terms.fee, letter, None)[0])
        if cost.standing == RoundStanding.IN_FEE:
            used.add(told.spread, told.stage, letter)
        number = statement.rounds.groups[key].used + counted[key]
        included = terms.group_for(told.spread.part, told.stage).rounds
        costs.append(replace(cost, number=number, included=included))
    extra = [cost for cost in costs if cost.is_extra and cost.counted_with is None]
    return LetterCost(
        asks=tuple(costs),
        fees=in_purse(cost.money for cost in extra),
        is_priced=all(cost.money is not None for cost in extra),
        when_over=terms.when_over,
        received_on=max(day_zero(at, terms.day_rule, terms.calendar_of(Side.ILLUSTRATOR)), story.start_on or date.min),
    )


def late_that_moves(
    story: Story,
    receipts: Receipts,
    passage: int,
    at: datetime,
    *,
    silent_on: date | None = None,
    is_taken_back: bool = False,
) -> int:
    """Count the late days by which an answer at this moment moves the spread's later dates; 0 if the terms move none.

    ``silent_on`` is the day with whose end silence answers, where nobody does; ``is_taken_back`` says that the hand-in
    is withdrawn instead.
    """
    told = story.passages.get(passage)
    if told is None:
        return 0
    data = AboutPassage(silent_on=silent_on.isoformat()) if silent_on else AboutPassage()
    answer = _answer(story, at, PassageState.DRAWING if is_taken_back else PassageState.APPROVED, data)
    end = answer._replace(deed=Deed.WITHDRAW_HAND_IN) if is_taken_back else answer
    ended, _ = if_answered(told, receipts, end, start_on=story.start_on)
    return ended.late if ended and receipts.terms.numbered(ended.version).publisher_late_moves else 0


def check_over(cost: LetterCost, *, has_consent: bool, is_asked: bool = False) -> None:
    """Refuse a letter that goes beyond the fee where the terms do not allow it.

    Raises
    ------
    Refused
        ``over-refused``, or ``over-needs-consent`` while the agent has not consented, ``over-waits``
        where that has been asked for and only the answer is missing.
    """
    if not cost.over or cost.when_over == WhenOver.TELL:
        return
    where = ", ".join(ask.where for ask in cost.over)
    if cost.when_over == WhenOver.REFUSE:
        raise Refused("over-refused", where=where)
    if not has_consent:
        raise Refused("over-waits" if is_asked else "over-needs-consent", where=where)


def _if_sent(
    story: Story, passage_story: PassageStory, receipts: Receipts, at: datetime, stands_on: date | None
) -> tuple[int | None, date | None]:
    """Say how late the answer would be, None where none is due, and when the passage would be due again."""
    about = AboutPassage(answer=Answer.ASK)
    if stands_on is not None:
        about["stood_on"] = stands_on.isoformat()
    sent = _answer(story, at, PassageState.DRAWING, about)
    ended, began = if_answered(passage_story, receipts, sent, start_on=story.start_on)
    return ended.late if ended and ended.due_on else None, began.due_on if began else None


def _answer(story: Story, at: datetime, to: PassageState, data: AboutPassage) -> Event:
    """Make the event of an answer that might be given."""
    return Event(seq=story.last_seq + 1, at=at, deed=Deed.SEND_LETTER, to=to, role=Role.ART_DIRECTOR, by="", data=data)


def _cost(
    story: PassageStory, ask: PlannedAsk, terms: Terms, before: Before, if_sent: tuple[int | None, date | None]
) -> AskCost:
    about = AboutPassage(causes=[*ask.causes], handed_in_by=story.made_by)
    standing = standing_of(story, about, terms, before)
    late, due_on = if_sent
    return AskCost(
        passage=story.passage,
        where=ask.where or where_name(story.spread.label, story.stage),
        standing=standing,
        number=0,
        included=0,
        price=None,
        money=None,
        due_on=due_on,
        days_late=late,
    )
