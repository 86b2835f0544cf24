"""The money of a statement as people read it: the same rows for the screen, the paper and the table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils.translation import gettext as _

from reviews.pages.wording.fees import extra_money_words, money_words, purse_words, working_words
from reviews.pages.wording.names import standing_words
from reviews.rules.contract.amounts import Working, in_purse
from reviews.rules.contract.bills import Bill
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
    def status(self) -> str:
        if self.bill.received_on:
            return _("Received")
        return _("The publisher says paid; receipt not told yet") if self.bill.paid_on else _("Not paid yet")


@dataclass(frozen=True)
class InstalmentRow:
    state: InstalmentState
    bills: tuple[Bill, ...] = ()

    @property
    def money(self) -> str:
        return money_words(self.state.money)

    @property
    def progress(self) -> str:
        """Say how far it is: met, or how many spreads are there."""
        if self.state.met_on:
            return _("Met")
        if self.state.n_needed == 1:
            return _("Not yet")
        return _("{n} of {needed} spreads there").format(n=self.state.n_reached, needed=self.state.n_needed)

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

    @property
    def instalments(self) -> list[InstalmentRow]:
        bills = self.account.bills
        return [
            InstalmentRow(state, tuple(bill for bill in bills if bill.name == state.name))
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
        return [self.fallen_due, self.not_yet, self.extra_owed, self.balance]

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
