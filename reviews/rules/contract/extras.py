"""What rounds beyond and outside the fee cost by the prices of the terms, and how much of it is free."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

from reviews.rules.contract.amounts import Step, Working, each_of, in_purse, money_of, rounded, share_of, together
from reviews.rules.contract.bills import Hours
from reviews.rules.contract.fees import Money, Price, PricedBy
from reviews.rules.contract.rounds import Round, RoundStanding
from reviews.rules.contract.terms import Terms, TermsHistory
from reviews.rules.contract.timeline import Story

#: Only these cost something.
EXTRA = (RoundStanding.OVER, RoundStanding.OUTSIDE)


@dataclass(frozen=True, kw_only=True)
class ExtraRound:
    """What one round beyond or outside the fee costs.

    price         by which price; None where the terms name none
    money         None where no price is agreed, or where the hours are not
    in_letter     whether the price is asked once for the letter, and another round of it bears it
    hours         the hours that one side told for it, whether the other agreed or not
    """

    round: Round
    stage: str
    price: Price | None
    money: Money | None
    in_letter: bool = False
    hours: Hours | None = None
    set_by: tuple[int, ...] = ()

    @cached_property
    def entries(self) -> tuple[int, ...]:
        """Name the letter, the hours, and the entry of the terms that priced it."""
        hours = self.hours.entries if self.hours else ()
        return together([(self.round.seq,), hours, self.set_by if self.price else ()])


@dataclass
class Pricer:
    """Prices rounds in the order in which the ledger tells them: a price for a letter is asked once for it."""

    _asked: set[tuple[int, Price]] = field(default_factory=set)

    def ask(
        self, price: Price | None, fee: Money | None, letter: int, hours: Decimal | None
    ) -> tuple[Money | None, bool]:
        """Give what a round costs, and whether another round of the letter bears it."""
        each = None if price is None else each_of(price, fee)
        if price is None or each is None:
            return None, False
        if price.by == PricedBy.HOUR:
            return (None if hours is None else money_of(each.amount * hours, each.currency)), False
        if price.by == PricedBy.LETTER:
            if (letter, price) in self._asked:
                return Money(Decimal(0), each.currency), True
            self._asked.add((letter, price))
        return each, False


def price_of(terms: Terms, stage: str, *, after_approval: bool) -> Price | None:
    """Find the price of a round at a stage: the one that says most about it, else the fee for a round or an hour."""
    fitting = [
        price for price in terms.prices if price.stage in ("", stage) and (after_approval or not price.after_approval)
    ]
    if fitting:
        return max(fitting, key=lambda price: (price.after_approval, price.stage != ""))
    if terms.round_fee is not None:
        return Price(by=PricedBy.ROUND, amount=terms.round_fee)
    return None if terms.hour_fee is None else Price(by=PricedBy.HOUR, amount=terms.hour_fee)


def extra_rounds(story: Story, terms: TermsHistory, rounds: Iterable[Round]) -> tuple[ExtraRound, ...]:
    """Price every round beyond or outside the fee by the terms of its day."""
    pricer, found = Pricer(), []
    prices: dict[tuple[int, str, RoundStanding], Price | None] = {}
    for one in rounds:
        if one.standing not in EXTRA or one.counted_with is not None:
            continue
        version = terms.numbered(one.version)
        stage = story.passages[one.passage].stage
        key = (one.version, stage, one.standing)
        if key not in prices:
            prices[key] = price_of(version, stage, after_approval=one.standing == RoundStanding.OUTSIDE)
        price = prices[key]
        hours = story.hours.get((one.seq, one.passage)) if price and price.by == PricedBy.HOUR else None
        money, in_letter = pricer.ask(price, version.fee, one.seq, hours.agreed if hours else None)
        found.append(
            ExtraRound(
                round=one,
                stage=stage,
                price=price,
                money=money,
                in_letter=in_letter,
                hours=hours,
                set_by=story.behind(one.version),
            )
        )
    return tuple(found)


def free_of(terms: Terms, fees: Mapping[str, Decimal]) -> Money | None:
    """Say how much of the fees for changes is free; None where the terms leave nothing free."""
    if terms.free_share is None or terms.fee is None:
        return None
    most = share_of(terms.fee, terms.free_share)
    return Money(min(most.amount, rounded(fees.get(most.currency, Decimal(0)), most.currency)), most.currency)


def extra_workings(extras: Sequence[ExtraRound], free: Money | None, terms: Terms) -> tuple[Working, ...]:
    """Write the fees for changes as so many at so much each, and what is free of them."""
    lines: dict[tuple[Step, Money, str], list[ExtraRound]] = {}
    for extra in extras:
        if extra.price is None or extra.money is None or extra.in_letter:
            continue
        hourly = extra.price.by == PricedBy.HOUR and extra.price.amount
        each = hourly or extra.money
        lines.setdefault((Step(extra.price.by.value), each, extra.price.stage), []).append(extra)
    found = [
        Working(
            step=step,
            n=sum((_n_of(extra) for extra in theirs), Decimal(0)),
            each=each,
            money=Money(in_purse(extra.money for extra in theirs)[each.currency], each.currency),
            name=stage,
            entries=together(extra.entries for extra in theirs),
        )
        for (step, each, stage), theirs in lines.items()
    ]
    if free is not None and free.amount:
        less = Money(-free.amount, free.currency)
        found.append(Working(step=Step.FREE, each=terms.fee, share=terms.free_share, money=less))
    return tuple(found)


def _n_of(extra: ExtraRound) -> Decimal:
    if extra.price is not None and extra.price.by == PricedBy.HOUR and extra.hours and extra.hours.agreed is not None:
        return extra.hours.agreed
    return Decimal(1)
