"""What was invoiced and paid, and the hours told for changes: each as both sides have told it in the ledger.

An invoice is the illustrator's side's word and makes nothing due; that it was paid is the publisher's word and settles
nothing until the illustrator's side says that the money came. So no act of one side changes the other's balance.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from reviews.rules.contract.fees import Money


@dataclass(frozen=True, kw_only=True)
class Bill:
    """One invoice.

    name         the instalment it is for; empty: changes beyond the fee, or something else
    paid_on      the day on which the publisher says it was paid
    received_on  the day on which the illustrator's side says the money came: only that settles it
    """

    invoice: int
    number: str
    name: str
    money: Money
    invoiced_on: date
    entries: tuple[int, ...]
    paid_on: date | None = None
    received_on: date | None = None


@dataclass(frozen=True, kw_only=True)
class Hours:
    """Hours of work on one round by the hour; ``agreed`` once the publisher took what the illustrator's side told."""

    told: Decimal
    agreed: Decimal | None = None
    entries: tuple[int, ...] = ()
