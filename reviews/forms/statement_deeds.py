"""What may be told on the statement: the forms of one seat."""

from __future__ import annotations

from dataclasses import dataclass

from reviews.forms.invoices import InvoiceForm
from reviews.pages.statement import StatementPage
from reviews.pages.statement_money import BillRow
from reviews.queries.hours import HourlyRound, hourly_rounds
from reviews.rules import permits
from reviews.rules.states import Deed, Role


@dataclass(frozen=True, kw_only=True)
class MoneyDeeds:
    """Which of the deeds about money a seat may do now; none on the statement of a past day."""

    form: InvoiceForm | None
    may_say_paid: bool
    may_confirm: bool
    may_tell_hours: bool
    may_agree_hours: bool
    open_bills: list[BillRow]
    hourly: list[HourlyRound]

    @property
    def is_any(self) -> bool:
        has_bills = bool(self.open_bills) and (self.may_say_paid or self.may_confirm)
        return self.form is not None or has_bills or bool(self.hourly)


def money_deeds(page: StatementPage, role: Role) -> MoneyDeeds | None:
    """Gather what a seat may tell on today's statement (2 queries where rounds are paid by the hour)."""
    if page.is_past:
        return None
    tells, agrees = permits.may(role, Deed.TELL_HOURS), permits.may(role, Deed.AGREE_HOURS)
    terms = page.statement.terms
    initial = {"currency": terms.fee.currency if terms.fee else "", "on": page.today}
    names = list(dict.fromkeys(part.name for part in terms.instalments))
    return MoneyDeeds(
        form=InvoiceForm(instalments=names, initial=initial) if permits.may(role, Deed.INVOICE) else None,
        may_say_paid=permits.may(role, Deed.SAY_PAID),
        may_confirm=permits.may(role, Deed.CONFIRM_PAYMENT),
        may_tell_hours=tells,
        may_agree_hours=agrees,
        open_bills=[row for row in page.money.bills if row.bill.received_on is None],
        hourly=hourly_rounds(page.book.pk, page.statement.money.extras) if tells or agrees else [],
    )
