"""Tell what was invoiced and paid: who is owed says the one and that the money came, who owes says the other."""

from __future__ import annotations

from datetime import date

from reviews.actions._deed import Act, deed_on
from reviews.models import Book, Invoice, Seat
from reviews.queries.terms import terms_of
from reviews.rules.contract.fees import Money, check_amount, check_payable
from reviews.rules.contract.fees_text import money_text
from reviews.rules.money_payloads import InvoiceData, PaymentData, WithdrawInvoiceData
from reviews.rules.states import Deed, Refused

MOST_WORDS = 200


def tell_invoice(
    book_id: int, *, number: str, name: str, money: Money, on: date, words: str = "", actor: Seat
) -> Invoice:
    """Tell that something was invoiced: an instalment by its ``name``, or extra fees where that is empty.

    It makes nothing due and settles nothing; what is due follows from the terms alone.
    """
    with deed_on(Book, book_id, Deed.INVOICE, actor) as act:
        given = number.strip()
        if not given:
            raise Refused("invoice-number")
        check_amount(money)
        check_payable(money)
        if not money.amount:
            raise Refused("invoice-of-nothing")
        _check_past(on, act)
        named = {part.name for part in terms_of(act.book).history.on(act.today).instalments}
        if name and name not in named:
            raise Refused("invoice-for-what", name=name)
        if Invoice.objects.standing().filter(book=act.book, number=given).exists():
            raise Refused("invoice-twice", number=given)
        told = Invoice.objects.create(
            book=act.book,
            number=given,
            name=name,
            words=words.strip()[:MOST_WORDS],
            amount=money.amount,
            currency=money.currency,
            on=on,
            told_by=act.by,
            told_at=act.now,
        )
        act.holds(told)
        text = money_text(money)
        assert text is not None
        act.record(
            InvoiceData(invoice=told.pk, number=given, name=name, words=told.words, money=text, on=on.isoformat())
        )
    return told


def withdraw_invoice(invoice_id: int, because: str, *, actor: Seat) -> None:
    """Take back an invoice told by mistake, while nobody says that it was paid."""
    with deed_on(Invoice, invoice_id, Deed.WITHDRAW_INVOICE, actor) as act:
        told = _standing(invoice_id)
        if told.paid_on or told.received_on:
            raise Refused("invoice-paid", number=told.number)
        if not because.strip():
            raise Refused("reason-missing")
        told.withdrawn_at, told.withdrawn_because = act.now, because.strip()[:300]
        told.save(update_fields=["withdrawn_at", "withdrawn_because"])
        act.holds(told)
        act.record(WithdrawInvoiceData(invoice=told.pk, number=told.number, reason=told.withdrawn_because))


def say_paid(invoice_id: int, on: date, *, actor: Seat) -> None:
    """Say, for the publisher, that an invoice was paid. It settles nothing until the other side has the money."""
    with deed_on(Invoice, invoice_id, Deed.SAY_PAID, actor) as act:
        told = _standing(invoice_id)
        if told.paid_on or told.received_on:
            raise Refused("invoice-paid", number=told.number)
        _check_past(on, act)
        told.paid_on, told.paid_by = on, act.by
        told.save(update_fields=["paid_on", "paid_by"])
        act.holds(told)
        act.record(PaymentData(invoice=told.pk, number=told.number, on=on.isoformat()))


def confirm_payment(invoice_id: int, on: date, *, actor: Seat) -> None:
    """Say, for the illustrator's side, that the money of an invoice came: that settles it."""
    with deed_on(Invoice, invoice_id, Deed.CONFIRM_PAYMENT, actor) as act:
        told = _standing(invoice_id)
        if told.received_on:
            raise Refused("invoice-paid", number=told.number)
        _check_past(on, act)
        told.received_on, told.received_by = on, act.by
        told.save(update_fields=["received_on", "received_by"])
        act.holds(told)
        act.record(PaymentData(invoice=told.pk, number=told.number, on=on.isoformat()))


def _standing(invoice_id: int) -> Invoice:
    """Read an invoice again under the lock."""
    told = Invoice.objects.standing().filter(pk=invoice_id).first()
    if told is None:
        raise Refused("invoice-gone")
    return told


def _check_past(on: date, act: Act) -> None:
    if on > act.today:
        raise Refused("invoice-day-to-come", today=act.today)
