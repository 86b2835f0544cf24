"""What may be told on the statement: the forms of one seat."""

from __future__ import annotations

from dataclasses import dataclass

from reviews.forms.invoices import InvoiceForm
from reviews.models import Payment
from reviews.pages.statement import StatementPage
from reviews.pages.statement_money import BillRow
from reviews.queries.hours import HourlyRound, hourly_rounds
from reviews.queries.payments import payments_told
from reviews.rules import permits
from reviews.rules.contract.fees import Money
from reviews.rules.states import Deed, Role, Said


@dataclass(frozen=True)
class BillDeeds:
    """What a seat may say of one invoice: its own side's word, what is left to say, and what it has said so far."""

    row: BillRow
    said: Said
    told: tuple[Payment, ...]

    @property
    def left(self) -> Money:
        """Give what is not told yet; for whoever is owed, first what the other side says it paid."""
        bill = self.row.bill
        if self.said == Said.PAID:
            return bill.unsaid
        return bill.unconfirmed if bill.unconfirmed.amount else bill.still_open

    @property
    def is_whole(self) -> bool:
        """Say whether nothing is left to tell; more can still be told, as what it is."""
        return not self.left.amount

    @property
    def asks(self) -> bool:
        return self.said == Said.RECEIVED

    @property
    def may_withdraw(self) -> bool:
        """Say whether the invoice itself may be taken back: nobody has said that anything of it was paid."""
        return self.asks and not (self.row.bill.said_paid or self.row.bill.received)


@dataclass(frozen=True, kw_only=True)
class MoneyDeeds:
    """Which of the deeds about money a seat may do now; none on the statement of a past day."""

    form: InvoiceForm | None
    may_tell_hours: bool
    may_agree_hours: bool
    bills: list[BillDeeds]
    hourly: list[HourlyRound]

    @property
    def is_any(self) -> bool:
        return self.form is not None or bool(self.bills) or bool(self.hourly)


def money_deeds(page: StatementPage, role: Role) -> MoneyDeeds | None:
    """Gather what a seat may tell on today's statement (1 query where there are invoices, 2 where rounds are paid by
    the hour)."""
    if page.is_past:
        return None
    tells, agrees = permits.may(role, Deed.TELL_HOURS), permits.may(role, Deed.AGREE_HOURS)
    terms = page.statement.terms
    initial = {"currency": terms.fee.currency if terms.fee else "", "on": page.today}
    names = list(dict.fromkeys(part.name for part in terms.instalments))
    return MoneyDeeds(
        form=InvoiceForm(instalments=names, initial=initial) if permits.may(role, Deed.INVOICE) else None,
        may_tell_hours=tells,
        may_agree_hours=agrees,
        bills=_bills(page, role),
        hourly=hourly_rounds(page.book.pk, page.statement.money.extras) if tells or agrees else [],
    )


def _bills(page: StatementPage, role: Role) -> list[BillDeeds]:
    said = next((said for said, deed in SAYING.items() if permits.may(role, deed)), None)
    rows = page.money.bills
    if said is None or not rows:
        return []
    told = payments_told(page.book.pk, said)
    return [BillDeeds(row, said, tuple(told.get(row.bill.invoice, ()))) for row in rows]


SAYING = {Said.PAID: Deed.SAY_PAID, Said.RECEIVED: Deed.CONFIRM_PAYMENT}
