"""What a letter cost as it was told before it went, as plain text that the ledger keeps with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from reviews.rules.contract.fees import Price, PricedBy
from reviews.rules.contract.fees_text import money_text
from reviews.rules.contract.letter_cost import AskCost, LetterCost
from reviews.rules.contract.rounds import RoundStanding
from reviews.rules.contract.terms import WhenOver
from reviews.rules.contract.terms_text import money_from_text


@dataclass(frozen=True)
class ToldLine:
    """One ask of a letter that went: whatever consent it needed was given, or it would not have gone."""

    ask: AskCost
    needs_consent: bool = False


@dataclass(frozen=True, kw_only=True)
class ToldCost:
    """What a letter costs as it is told to people.

    terms         the version of the terms it is counted by; 0 where the stage plans imply them
    moves_dates   whether late days of the publisher move the illustrator's later dates
    counts_later  whether it counts as received on a later day than it goes
    """

    cost: LetterCost
    terms: int
    moves_dates: bool
    counts_later: bool

    @property
    def lines(self) -> list[ToldLine]:
        return [ToldLine(ask) for ask in self.cost.asks]

    @property
    def days_late(self) -> int:
        return sum(ask.days_late or 0 for ask in self.cost.asks)

    @property
    def has_outside(self) -> bool:
        """Say whether something approved is to be changed: outside the fee, and no round that waits for consent."""
        return any(ask.standing == RoundStanding.OUTSIDE for ask in self.cost.asks)


def told_text(told: ToldCost) -> dict[str, Any]:
    """Write a cost as it was told, for the entry of its letter."""
    cost = told.cost
    return {
        "asks": [_ask_text(ask) for ask in cost.asks],
        "fees": {currency: str(amount) for currency, amount in cost.fees.items()},
        "is_priced": cost.is_priced,
        "when_over": cost.when_over.value,
        "received_on": cost.received_on.isoformat(),
        "terms": told.terms,
        "moves_dates": told.moves_dates,
        "counts_later": told.counts_later,
    }


def told_read(text: Mapping[str, Any]) -> ToldCost:
    """Read a cost back as it was told."""
    return ToldCost(
        cost=LetterCost(
            asks=tuple(_ask_read(ask) for ask in text["asks"]),
            fees={currency: Decimal(amount) for currency, amount in text["fees"].items()},
            is_priced=text["is_priced"],
            when_over=WhenOver(text["when_over"]),
            received_on=date.fromisoformat(text["received_on"]),
        ),
        terms=text["terms"],
        moves_dates=text["moves_dates"],
        counts_later=text["counts_later"],
    )


def _ask_text(ask: AskCost) -> dict[str, Any]:
    price = ask.price
    return {
        "passage": ask.passage,
        "where": ask.where,
        "standing": ask.standing.value,
        "number": ask.number,
        "included": ask.included,
        "price": {"by": price.by.value, "amount": money_text(price.amount)} if price else None,
        "money": money_text(ask.money),
        "due_on": ask.due_on.isoformat() if ask.due_on else None,
        "days_late": ask.days_late,
        "answer_due": None if ask.is_due_untold else ask.days_late is not None,
        "counted_with": ask.counted_with,
    }


def _ask_read(text: Mapping[str, Any]) -> AskCost:
    price, standing = text["price"], RoundStanding(text["standing"])
    # LATER: without "answer_due", 0 of what is outside the rounds stands for an answer in time and for none due alike.
    may_be_either = standing == RoundStanding.OUTSIDE and text["days_late"] == 0
    is_due_untold = text["answer_due"] is None if "answer_due" in text else may_be_either
    return AskCost(
        passage=text["passage"],
        where=text["where"],
        standing=standing,
        number=text["number"],
        included=text["included"],
        price=Price(by=PricedBy(price["by"]), amount=money_from_text(price["amount"])) if price else None,
        money=money_from_text(text["money"]),
        due_on=date.fromisoformat(text["due_on"]) if text["due_on"] else None,
        days_late=None if is_due_untold else text["days_late"],
        is_due_untold=is_due_untold,
        counted_with=text["counted_with"],
    )
