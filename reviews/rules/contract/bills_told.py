"""Read from the ledger what was invoiced and paid: each function takes one entry into the invoices that stand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

from reviews.rules.contract.bills import Bill, BillPayment
from reviews.rules.contract.fees_text import money_read
from reviews.rules.entries import Entry
from reviews.rules.money_payloads import InvoiceData, PaymentData, WithdrawInvoiceData, WithdrawPaymentData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed

Bills = dict[int, Bill]


def _invoice(bills: Bills, entry: Entry) -> None:
    data = payload_of(entry, InvoiceData)
    bills[data["invoice"]] = Bill(
        invoice=data["invoice"],
        number=data["number"],
        name=data["name"],
        money=money_read(data["money"]),
        invoiced_on=date.fromisoformat(data["on"]),
        told_by=(entry.seq,),
    )


def _withdraw_invoice(bills: Bills, entry: Entry) -> None:
    bills.pop(payload_of(entry, WithdrawInvoiceData)["invoice"], None)


def _payment(bills: Bills, entry: Entry) -> None:
    data = payload_of(entry, PaymentData)
    # A clock that was set back may have written it at a moment before its invoice: on that day there was none.
    if (bill := bills.get(data["invoice"])) is None:
        return
    # Entries of before parts could be told are each of the whole invoice.
    money = money_read(data["money"]) if "money" in data else bill.money
    told = BillPayment(money, date.fromisoformat(data["on"]), entry.seq)
    if entry.deed == Deed.SAY_PAID:
        bills[bill.invoice] = replace(bill, said_paid=(*bill.said_paid, told))
    else:
        bills[bill.invoice] = replace(bill, received=(*bill.received, told))


def _withdraw_payment(bills: Bills, entry: Entry) -> None:
    data = payload_of(entry, WithdrawPaymentData)
    if (bill := bills.get(data["invoice"])) is None:
        return
    bills[bill.invoice] = replace(
        bill,
        told_by=(*bill.told_by, data["told"], entry.seq),
        said_paid=tuple(one for one in bill.said_paid if one.seq != data["told"]),
        received=tuple(one for one in bill.received if one.seq != data["told"]),
    )


BILL_READERS: dict[str, Callable[[Bills, Entry], None]] = {
    Deed.INVOICE.value: _invoice,
    Deed.WITHDRAW_INVOICE.value: _withdraw_invoice,
    Deed.SAY_PAID.value: _payment,
    Deed.CONFIRM_PAYMENT.value: _payment,
    Deed.WITHDRAW_PAYMENT.value: _withdraw_payment,
}
