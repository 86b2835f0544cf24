"""Tell what was invoiced and paid: who is owed says the one and that the money came, who owes says the other."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.db.models import Sum

from reviews.actions._deed import Act, deed_on
from reviews.models import Book, Invoice, LedgerEntry, Payment, Seat
from reviews.queries.terms import terms_of
from reviews.rules import permits
from reviews.rules.contract.amounts import money_of
from reviews.rules.contract.fees import Money, check_amount, check_payable
from reviews.rules.contract.fees_text import money_text
from reviews.rules.money_payloads import InvoiceData, PaymentData, WithdrawInvoiceData, WithdrawPaymentData
from reviews.rules.states import Deed, Refused, Role, Said

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
        money = money_of(money.amount, money.currency)
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
        act.record(
            InvoiceData(
                invoice=told.pk, number=given, name=name, words=told.words, money=_text(money), on=on.isoformat()
            )
        )
    return told


def withdraw_invoice(invoice_id: int, because: str, *, actor: Seat) -> None:
    """Take back an invoice told by mistake, while nobody says that anything of it was paid."""
    with deed_on(Invoice, invoice_id, Deed.WITHDRAW_INVOICE, actor) as act:
        told = _standing(invoice_id)
        if told.payments.standing().exists():
            raise Refused("invoice-paid", number=told.number)
        told.withdrawn_at, told.withdrawn_because = act.now, _reason(because)
        told.save(update_fields=["withdrawn_at", "withdrawn_because"])
        act.holds(told)
        act.record(WithdrawInvoiceData(invoice=told.pk, number=told.number, reason=told.withdrawn_because))


def say_paid(invoice_id: int, on: date, amount: Decimal | None = None, *, beyond: bool = False, actor: Seat) -> Payment:
    """Say, for the publisher, that an invoice, or a sum of it, was paid.

    It settles nothing until the other side has the money. Without an ``amount`` it is what is left to be said; more
    than that is taken only where ``beyond`` says that it is no slip.
    """
    with deed_on(Invoice, invoice_id, Deed.SAY_PAID, actor) as act:
        return _tell_payment(act, invoice_id, Said.PAID, on, amount, beyond=beyond)


def confirm_payment(
    invoice_id: int, on: date, amount: Decimal | None = None, *, beyond: bool = False, actor: Seat
) -> Payment:
    """Say, for the illustrator's side, that the money of an invoice, or a sum of it, came: that settles so much."""
    with deed_on(Invoice, invoice_id, Deed.CONFIRM_PAYMENT, actor) as act:
        return _tell_payment(act, invoice_id, Said.RECEIVED, on, amount, beyond=beyond)


def withdraw_payment(payment_id: int, because: str, *, actor: Seat) -> None:
    """Take back one's own side's word of a payment: the account stands again as if it had not been said."""
    with deed_on(Payment, payment_id, Deed.WITHDRAW_PAYMENT, actor) as act:
        told = Payment.objects.standing().select_related("invoice").filter(pk=payment_id).first()
        if told is None:
            raise Refused("payment-gone")
        if not permits.may(Role(act.by.role), _SAYING[Said(told.said)]):
            raise Refused("payment-not-yours")
        told.taken_back_at, told.taken_back_because = act.now, _reason(because)
        told.save(update_fields=["taken_back_at", "taken_back_because"])
        act.holds(told)
        act.record(
            WithdrawPaymentData(
                payment=told.pk,
                invoice=told.invoice_id,
                number=told.invoice.number,
                said=told.said,
                money=_text(told.money),
                on=told.on.isoformat(),
                told=_entry_of(told, act),
                reason=told.taken_back_because,
            )
        )


_SAYING = {Said.PAID: Deed.SAY_PAID, Said.RECEIVED: Deed.CONFIRM_PAYMENT}


def _tell_payment(act: Act, invoice_id: int, said: Said, on: date, amount: Decimal | None, *, beyond: bool) -> Payment:
    invoice = _standing(invoice_id)
    _check_past(on, act)
    before = invoice.payments.standing().filter(said=said).aggregate(sum=Sum("amount"))["sum"] or Decimal(0)
    left = max(Decimal(0), invoice.amount - before)
    if amount is None and not left:
        raise Refused("invoice-paid", number=invoice.number)
    money = Money(left if amount is None else amount, invoice.currency)
    check_amount(money)
    check_payable(money)
    money = money_of(money.amount, money.currency)
    if not money.amount:
        raise Refused("payment-of-nothing")
    if money.amount > left and not beyond:
        rest = money_of(left, invoice.currency)
        raise Refused("payment-beyond", number=invoice.number, left=rest.amount, currency=rest.currency)
    told = Payment.objects.create(
        invoice=invoice, said=said, amount=money.amount, on=on, told_by=act.by, told_at=act.now
    )
    act.holds(told)
    act.record(
        PaymentData(invoice=invoice.pk, number=invoice.number, on=on.isoformat(), payment=told.pk, money=_text(money))
    )
    return told


def _entry_of(told: Payment, act: Act) -> int:
    """Find the ledger entry that said it; one of before names its invoice alone."""
    entries = LedgerEntry.objects.filter(book=act.book, deed=_SAYING[Said(told.said)])
    if told.of_before:
        entries = entries.filter(data__invoice=told.invoice_id, data__payment__isnull=True)
    else:
        entries = entries.filter(data__payment=told.pk)
    return entries.values_list("seq", flat=True).get()


def _text(money: Money) -> dict[str, str]:
    text = money_text(money)
    assert text is not None
    return text


def _reason(because: str) -> str:
    if not because.strip():
        raise Refused("reason-missing")
    return because.strip()[:300]


def _standing(invoice_id: int) -> Invoice:
    """Read an invoice again under the lock."""
    told = Invoice.objects.standing().filter(pk=invoice_id).first()
    if told is None:
        raise Refused("invoice-gone")
    return told


def _check_past(on: date, act: Act) -> None:
    if on > act.today:
        raise Refused("invoice-day-to-come", today=act.today)
