"""The money clauses of a contract as data: the fee, what changes beyond it cost, instalments, the kill fee.

Every default is what the clause says where a contract is silent. The figures themselves come from the signed contract.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from reviews.rules.contract.currencies import DECIMALS, decimals_of
from reviews.rules.states import Refused

HUNDRED = Decimal(100)
#: Far beyond any contract, and few enough digits that shares and sums of them stay exact.
MOST_MONEY = Decimal("9999999999.99")
MOST_DAYS = 400

#: The kind of spread a line of the terms speaks of. A line for every spread gives way to one for the cover alone.
EVERY_SPREAD = ""
COVER = "cover"
#: Everything but the cover: only instalments speak of it.
INTERIOR = "interior"
PARTS = (EVERY_SPREAD, COVER, INTERIOR)


class Milestone(StrEnum):
    """What makes an instalment fall due, or moves the kill fee on."""

    START = "start"
    HAND_IN = "hand-in"
    APPROVAL = "approval"
    DATE = "date"
    SIGNATURE = "signature"
    PUBLICATION = "publication"


#: Those that a spread reaches at a stage of its own.
AT_A_STAGE = (Milestone.HAND_IN, Milestone.APPROVAL)
#: Those that move a kill fee on.
OF_A_STEP = (Milestone.START, *AT_A_STAGE)


class PricedBy(StrEnum):
    """What one price is asked for."""

    ROUND = "round"
    LETTER = "letter"
    HOUR = "hour"


@dataclass(frozen=True)
class Money:
    """An amount in one currency (three capital letters, ISO 4217). Two currencies are never added."""

    amount: Decimal
    currency: str


@dataclass(frozen=True, kw_only=True)
class Instalment:
    """A part of the fee: a share in per cent or an amount, and what makes it fall due.

    A milestone is met when every spread that has the stage has reached it, since the fee is for the book.

    part         only the cover, or only the interior; the others do not matter then
    of_spreads   per cent of these spreads that must have reached it: 50 for half the book
    after_days   calendar days after delivery with which an approval's instalment falls due at the latest, whether the
                 spread was answered or not; None: only with the approval
    """

    name: str
    falls: Milestone
    stage: str = ""
    on: date | None = None
    share: Decimal | None = None
    amount: Money | None = None
    pay_within_days: int = 0
    part: str = EVERY_SPREAD
    of_spreads: int = 100
    after_days: int | None = None


@dataclass(frozen=True)
class CancellationStep:
    """The share of the fee owed for a spread if the book stops once the spread has reached this point."""

    reached: Milestone
    share: Decimal
    stage: str = ""


@dataclass(frozen=True, kw_only=True)
class Price:
    """What a round beyond or outside the fee costs: an amount, or a share of the fee in per cent.

    by               for each round; once for a letter, however many rounds are in it; for each hour it takes
    stage            one stage alone; a price that names the stage goes before one that names none
    after_approval   only for changes to what was approved; goes before every other price there
    """

    by: PricedBy
    stage: str = ""
    after_approval: bool = False
    amount: Money | None = None
    share: Decimal | None = None


def check_price(price: Price, *, has_fee: bool, stages: frozenset[str]) -> None:
    """Refuse a price that nobody could count by."""
    if (price.share is None) == (price.amount is None):
        raise Refused("price-needs-money")
    if price.share is not None:
        check_share(price.share, "bad-share-price")
        if price.by == PricedBy.HOUR:
            raise Refused("price-share-by-hour")
        if not has_fee:
            raise Refused("fee-missing")
    if price.stage and price.stage not in stages:
        raise Refused("price-needs-stage")


def check_prices(prices: Iterable[Price], *, has_fee: bool, stages: frozenset[str]) -> None:
    """Refuse prices of which two speak of the same changes."""
    seen: set[tuple[str, bool]] = set()
    for price in prices:
        check_price(price, has_fee=has_fee, stages=stages)
        if (price.stage, price.after_approval) in seen:
            raise Refused("price-twice")
        seen.add((price.stage, price.after_approval))


def check_amount(money: Money) -> None:
    """Refuse what is no amount of money."""
    if len(money.currency) != 3 or not (money.currency.isascii() and money.currency.isupper()):
        raise Refused("bad-currency", currency=money.currency)
    if not money.amount.is_finite() or money.amount < 0:
        raise Refused("bad-amount", amount=money.amount)
    if money.amount > MOST_MONEY:
        raise Refused("too-much-money", amount=money.amount, most=MOST_MONEY)
    # Hundredths were taken for every currency once, so they can be read for every one.
    if money.amount != round(money.amount, max(2, decimals_of(money.currency))):
        raise Refused("bad-amount", amount=money.amount)


def check_payable(money: Money) -> None:
    """Refuse money that is new and cannot be paid as it stands.

    Raises
    ------
    Refused
        ``bad-currency`` or ``bad-decimals``
    """
    if money.currency not in DECIMALS:
        raise Refused("bad-currency", currency=money.currency)
    decimals = decimals_of(money.currency)
    if money.amount != round(money.amount, decimals):
        raise Refused("bad-decimals", amount=money.amount, currency=money.currency, decimals=decimals)


def check_instalments(instalments: Iterable[Instalment], *, has_fee: bool, stages: frozenset[str]) -> None:
    """Refuse instalments of which nobody could say when they fall due, or how much they are."""
    parts = tuple(instalments)
    for part in parts:
        _check_instalment(part, stages)
    shares = [part.share for part in parts if part.share is not None]
    if shares and not has_fee:
        raise Refused("fee-missing")
    if shares and len(shares) == len(parts) and sum(shares) != HUNDRED:
        raise Refused("shares-not-whole", total=sum(shares))


def _check_instalment(part: Instalment, stages: frozenset[str]) -> None:
    if (part.share is None) == (part.amount is None):
        raise Refused("instalment-needs-money", name=part.name)
    if part.falls == Milestone.DATE and part.on is None:
        raise Refused("instalment-needs-date", name=part.name)
    if part.falls in AT_A_STAGE and part.stage not in stages:
        raise Refused("instalment-needs-stage", name=part.name)
    if part.share is not None:
        check_share(part.share, "bad-share-instalment", name=part.name)
    check_days(part.pay_within_days, "negative-days-pay", name=part.name)
    if part.part not in PARTS:
        raise Refused("instalment-needs-part", name=part.name)
    if not 1 <= part.of_spreads <= HUNDRED:
        raise Refused("bad-share-of-spreads", name=part.name)
    if part.after_days is not None:
        if part.falls != Milestone.APPROVAL:
            raise Refused("after-days-need-approval", name=part.name)
        check_days(part.after_days, "negative-days-after", name=part.name)


def check_steps(steps: Iterable[CancellationStep], stages: frozenset[str]) -> None:
    """Refuse steps of a kill fee that fall as the work goes on, or that no spread could reach."""
    before = Decimal(0)
    for step in steps:
        check_share(step.share, "bad-share-cancellation")
        if step.reached not in OF_A_STEP or (step.reached != Milestone.START and step.stage not in stages):
            raise Refused("cancellation-needs-stage")
        if step.share < before:
            raise Refused("cancellation-falls", before=before, after=step.share)
        before = step.share


def check_days(days: int, code: str, **values: object) -> None:
    """Refuse a number of days that no contract gives."""
    if not 0 <= days <= MOST_DAYS:
        raise Refused(code, **values)


def check_share(share: Decimal, code: str, **values: object) -> None:
    """Refuse a share that is not between nothing and the whole."""
    if not share.is_finite() or not 0 <= share <= HUNDRED:
        raise Refused(code, **values)
