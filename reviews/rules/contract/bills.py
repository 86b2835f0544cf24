"""What was invoiced and paid, and the hours told for changes: each as both sides have told it in the ledger.

An invoice is the illustrator's side's word and makes nothing due; that it was paid, whole or in part, is the
publisher's word and settles nothing until the illustrator's side says that the money came. So no act of one side
changes the other's balance.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from reviews.rules.contract.amounts import together
from reviews.rules.contract.fees import Money


@dataclass(frozen=True)
class BillPayment:
    """One sum that a side says was paid, or came, on a day; ``seq`` is the ledger entry that says so."""

    money: Money
    on: date
    seq: int


@dataclass(frozen=True, kw_only=True)
class Bill:
    """One invoice.

    name       the instalment it is for; empty: changes beyond the fee, or something else
    told_by    the entries that told the invoice itself and what was taken back of its payments
    said_paid  the sums of which the publisher says that they were paid
    received   the sums of which the illustrator's side says that they came: only these settle anything
    """

    invoice: int
    number: str
    name: str
    money: Money
    invoiced_on: date
    told_by: tuple[int, ...]
    said_paid: tuple[BillPayment, ...] = ()
    received: tuple[BillPayment, ...] = ()

    @property
    def entries(self) -> tuple[int, ...]:
        """Name every entry that speaks of it."""
        return together([self.told_by, (one.seq for one in (*self.said_paid, *self.received))])

    @property
    def received_by(self) -> tuple[int, ...]:
        """Name the entries behind what came."""
        return together([self.told_by, (one.seq for one in self.received)]) if self.received else ()

    @property
    def said_sum(self) -> Money:
        return _sum(self.said_paid, self.money.currency)

    @property
    def received_sum(self) -> Money:
        return _sum(self.received, self.money.currency)

    @property
    def paid_on(self) -> date | None:
        """Give the day from which the publisher says that all of it was paid."""
        return _whole_on(self.said_paid, self.money)

    @property
    def received_on(self) -> date | None:
        """Give the day from which all of it had come."""
        return _whole_on(self.received, self.money)

    @property
    def unsaid(self) -> Money:
        """Give what is left to be said as paid."""
        return self._less(self.money, self.said_sum)

    @property
    def still_open(self) -> Money:
        """Give what has not come of it."""
        return self._less(self.money, self.received_sum)

    @property
    def unconfirmed(self) -> Money:
        """Give what the publisher says it paid beyond what is told as received."""
        return self._less(self.said_sum, self.received_sum)

    @property
    def over(self) -> Money:
        """Give what came beyond the invoice."""
        return self._less(self.received_sum, self.money)

    @property
    def is_in_parts(self) -> bool:
        """Say whether anything but one payment of the whole was told."""
        parts = (*self.said_paid, *self.received)
        return len(self.said_paid) > 1 or len(self.received) > 1 or any(one.money != self.money for one in parts)

    def _less(self, money: Money, paid: Money) -> Money:
        return Money(max(Decimal(0), money.amount - paid.amount), money.currency)


def _sum(payments: Iterable[BillPayment], currency: str) -> Money:
    return Money(sum((one.money.amount for one in payments), Decimal(0)), currency)


def _whole_on(payments: Iterable[BillPayment], money: Money) -> date | None:
    """Find the day on which payments, in the order of their days, have come to the whole."""
    so_far = Decimal(0)
    for one in sorted(payments, key=lambda one: (one.on, one.seq)):
        so_far += one.money.amount
        if so_far >= money.amount:
            return one.on
    return None


@dataclass(frozen=True, kw_only=True)
class Hours:
    """Hours of work on one round by the hour; ``agreed`` once the publisher took what the illustrator's side told."""

    told: Decimal
    agreed: Decimal | None = None
    entries: tuple[int, ...] = ()
