"""The money of a statement as people read it: the same rows for the screen, the paper and the table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils.translation import gettext as _

from reviews.pages.wording.dates import day_words
from reviews.pages.wording.fees import extra_money_words, money_words, purse_words, working_words
from reviews.pages.wording.names import standing_words
from reviews.rules.contract.amounts import Working, in_purse
from reviews.rules.contract.bills import Bill, BillPayment
from reviews.rules.contract.extras import ExtraRound
from reviews.rules.contract.fees import Money
from reviews.rules.contract.instalments import InstalmentState
from reviews.rules.contract.kill_fee import Stopped
from reviews.rules.contract.money import MoneyAccount


@dataclass(frozen=True)
class WorkingRow:
    """One line of how a sum was worked out."""

    line: Working

    @property
    def words(self) -> str:
        return working_words(self.line)

    @property
    def money(self) -> str:
        return money_words(self.line.money)


@dataclass(frozen=True)
class SumRow:
    """One sum, the entries behind it, and its working; a sum of one line needs none."""

    name: str
    amounts: Mapping[str, Decimal]
    entries: tuple[int, ...]
    lines: tuple[Working, ...] = ()

    @property
    def money(self) -> str:
        return purse_words(self.amounts.items())

    @property
    def working(self) -> list[WorkingRow]:
        return [WorkingRow(line) for line in self.lines]


@dataclass(frozen=True)
class ExtraRow:
    """One round beyond or outside the fee."""

    where: str
    extra: ExtraRound

    @property
    def why(self) -> str:
        return standing_words(self.extra.round.standing)

    @property
    def on(self) -> date:
        return self.extra.round.on

    @property
    def money(self) -> str:
        return extra_money_words(self.extra)

    @property
    def entries(self) -> tuple[int, ...]:
        return self.extra.entries


@dataclass(frozen=True)
class BillRow:
    """One invoice, and how far it is on: nothing is settled until the illustrator's side says that the money came."""

    bill: Bill

    @property
    def what(self) -> str:
        return self.bill.name or _("Extra fees")

    @property
    def money(self) -> str:
        return money_words(self.bill.money)

    @property
    def said_paid(self) -> str:
        """Write what the publisher says it paid: the day, or each part with its day."""
        return _payments_words(self.bill.said_paid, self.bill.money)

    @property
    def received(self) -> str:
        """Write what the other side says came."""
        return _payments_words(self.bill.received, self.bill.money)

    @property
    def disagrees(self) -> bool:
        """Say whether each side has told a sum, and the two are not the same."""
        bill = self.bill
        return bool(bill.said_paid and bill.received) and bill.said_sum != bill.received_sum

    @property
    def status(self) -> str:
        return " ".join(self._told())

    def _told(self) -> list[str]:
        bill = self.bill
        if self.disagrees:
            told = [
                _("The two sides differ: {paid} paid, says the publisher; {received} received.").format(
                    paid=money_words(bill.said_sum), received=money_words(bill.received_sum)
                )
            ]
        elif bill.received:
            whole = bill.received_on is not None
            told = [_("Received") if whole else _("{sum} received").format(sum=money_words(bill.received_sum))]
        elif bill.said_paid:
            told = [
                _("The publisher says paid; receipt not told yet")
                if bill.paid_on
                else _("The publisher says {sum} paid; receipt not told yet").format(sum=money_words(bill.said_sum))
            ]
        else:
            return [_("Not paid yet")]
        if bill.over.amount:
            told.append(_("{sum} more than the invoice").format(sum=money_words(bill.over)))
        elif bill.still_open.amount and bill.is_in_parts:
            told.append(_("{sum} outstanding").format(sum=money_words(bill.still_open)))
        return [words if words.endswith(".") or len(told) == 1 else f"{words}." for words in told]


def _payments_words(payments: Iterable[BillPayment], whole: Money) -> str:
    """Write sums with their days, and only the day of a sum that is all of it."""
    return "; ".join(
        day_words(one.on)
        if one.money == whole
        else _("{sum} on {day}").format(sum=money_words(one.money), day=day_words(one.on))
        for one in payments
    )


@dataclass(frozen=True)
class InstalmentRow:
    """One instalment as it is at the end of the day ``as_of``, with the invoices that name it."""

    state: InstalmentState
    as_of: date
    bills: tuple[Bill, ...] = ()

    @property
    def money(self) -> str:
        return money_words(self.state.money)

    @property
    def progress(self) -> str:
        """Say how far it is: how many spreads are there, met, or overdue as far as anybody said that money came."""
        if self.is_overdue:
            return _("Overdue: {sum} not told as received").format(sum=purse_words(self.outstanding.items()))
        if self.state.met_on:
            return _("Met")
        if self.state.n_needed == 1:
            return _("Not yet")
        return _("{n} of {needed} spreads there").format(n=self.state.n_reached, needed=self.state.n_needed)

    @property
    def is_settled(self) -> bool:
        """Say whether what came on its invoices is all of it."""
        return self.state.money is not None and not self.outstanding

    @property
    def is_overdue(self) -> bool:
        """Say whether the day by which it was to be paid is over, and not all of it was told as received."""
        by = self.state.pay_by_on
        return by is not None and by < self.as_of and bool(self.outstanding)

    @property
    def outstanding(self) -> Mapping[str, Decimal]:
        """Give what is left of it after all that was told as received on its invoices; nothing once that is all."""
        money = self.state.money
        if money is None:
            return {}
        left = money.amount - in_purse(bill.received_sum for bill in self.bills).get(money.currency, Decimal(0))
        return {money.currency: left} if left > 0 else {}

    @property
    def billed(self) -> str:
        """Say what was invoiced for it and whether the money came; nothing where no invoice was told."""
        return ", ".join(
            _("{number}: {status}").format(number=bill.number, status=BillRow(bill).status) for bill in self.bills
        )


@dataclass(frozen=True)
class MoneyPage:
    """Everything a statement says of money; ``where`` names the passages that the reader sees."""

    account: MoneyAccount
    where: Mapping[int, str]
    as_of: date

    @property
    def instalments(self) -> list[InstalmentRow]:
        bills = self.account.bills
        return [
            InstalmentRow(state, self.as_of, tuple(bill for bill in bills if bill.name == state.name))
            for state in self.account.instalments
        ]

    @property
    def extras(self) -> list[ExtraRow]:
        gone = _("a stage that is gone")
        return [ExtraRow(self.where.get(extra.round.passage, gone), extra) for extra in self.account.extras]

    @property
    def bills(self) -> list[BillRow]:
        return [BillRow(bill) for bill in self.account.bills]

    @property
    def fallen_due(self) -> SumRow:
        found = self.account
        return SumRow(_("Fallen due by instalments"), found.fallen_due, found.fallen_due_by, found.fallen_due_working)

    @property
    def not_yet(self) -> SumRow:
        found = self.account
        return SumRow(_("Not yet due"), found.not_yet, found.not_yet_by, found.not_yet_working)

    @property
    def extra_owed(self) -> SumRow:
        found = self.account
        return SumRow(_("Extra fees for changes"), found.extra_owed, found.extra_fees_by, found.extra_working)

    @property
    def balance(self) -> SumRow:
        found = self.account
        return SumRow(_("Balance due and not told as received"), found.balance, found.balance_by, found.balance_working)

    @property
    def sums(self) -> list[SumRow]:
        """Give the sums; of what the sides have not said alike, and of what came too much, only where there is some."""
        found = self.account
        sums = [self.fallen_due, self.not_yet, self.extra_owed, self.balance]
        if found.unconfirmed:
            name = _("Said to be paid by the publisher, and not told as received")
            sums.append(SumRow(name, found.unconfirmed, found.unconfirmed_by))
        if found.overpaid:
            name = _("Received beyond what is due so far; it counts against what falls due next")
            sums.append(SumRow(name, found.overpaid, found.balance_by))
        return sums

    @property
    def stopped(self) -> list[SumRow]:
        """Say what stopping today would leave to pay."""
        return _stopped(self.account.cancellation, _("Kill fee by the steps of the terms"))

    @property
    def rejected(self) -> list[SumRow]:
        """Say what rejecting the work would leave to pay, where the terms speak of it."""
        return _stopped(self.account.rejection, _("Owed by the steps for a rejection"))


def _stopped(found: Stopped, first: str) -> list[SumRow]:
    named = (
        (first, found.kill_fee, found.kill_working),
        (_("Fallen due by instalments"), found.due_already, ()),
        (_("Of the fee: the larger of these two"), found.of_the_fee, ()),
        (_("Extra fees for changes"), found.extras, ()),
        (_("Owed in all"), found.owed, found.working),
        (_("Received so far"), found.paid, ()),
        (_("Still to be paid then"), found.balance, ()),
    )
    return [SumRow(name, _one(money), found.entries, lines) for name, money, lines in named if money is not None]


def _one(money: Money) -> Mapping[str, Decimal]:
    return in_purse([money])


def working_rows(sums: Iterable[SumRow]) -> list[tuple[SumRow, WorkingRow]]:
    """List every line of every working beside its sum, for a table."""
    return [(row, line) for row in sums for line in row.working]
