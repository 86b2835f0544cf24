"""Sums of money: rounded once to the smallest coin, each currency for itself, and how each sum was worked out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from reviews.rules.contract.currencies import decimals_of
from reviews.rules.contract.fees import HUNDRED, Money, Price


class Step(StrEnum):
    """What one line of a working stands for."""

    INSTALMENT = "instalment"
    ROUND = "round"
    LETTER = "letter"
    HOUR = "hour"
    FREE = "free"
    SPREADS = "spreads"
    KILL_FEE = "kill-fee"
    FALLEN_DUE = "fallen-due"
    EXTRAS = "extras"
    PAID = "paid"


@dataclass(frozen=True, kw_only=True)
class Working:
    """One line of a sum: so many of something at so much each. The lines of a sum add up to it to the last coin.

    money   what the line adds; below zero where it takes away
    n       how many: rounds, letters, hours or spreads
    each    what one of them costs before a share of it is taken
    share   per cent of ``each``; None for the whole
    name    an instalment's name, or a stage
    """

    step: Step
    money: Money
    n: Decimal = Decimal(1)
    each: Money | None = None
    share: Decimal | None = None
    name: str = ""
    entries: tuple[int, ...] = ()


def rounded(amount: Decimal, currency: str) -> Decimal:
    """Round half up to the smallest coin of the currency."""
    return amount.quantize(Decimal(1).scaleb(-decimals_of(currency)), ROUND_HALF_UP)


def money_of(amount: Decimal, currency: str) -> Money:
    """Write an amount with the decimals of its currency."""
    return Money(rounded(amount, currency), currency)


def share_of(fee: Money, share: Decimal) -> Money:
    """Take a share in per cent of a fee."""
    return money_of(fee.amount * share / HUNDRED, fee.currency)


def each_of(price: Price, fee: Money | None) -> Money | None:
    """Give what one round, letter or hour costs."""
    if price.share is not None:
        return None if fee is None else share_of(fee, price.share)
    return price.amount


def in_purse(amounts: Iterable[Money | None]) -> dict[str, Decimal]:
    """Add amounts up, each currency for itself."""
    purse: dict[str, Decimal] = {}
    for money in amounts:
        if money is not None:
            purse[money.currency] = purse.get(money.currency, Decimal(0)) + money.amount
    return dict(sorted(purse.items()))


def parts_of(exact: Iterable[Decimal], currency: str) -> Iterator[Money]:
    """Round parts so that they add up to their rounded sum: each is what the sum so far grew by."""
    so_far, given = Decimal(0), Decimal(0)
    for part in exact:
        so_far += part
        whole = rounded(so_far, currency)
        yield Money(whole - given, currency)
        given = whole


def together(entries: Iterable[Iterable[int]]) -> tuple[int, ...]:
    """Name every entry once, in order."""
    return tuple(sorted({seq for some in entries for seq in some}))
