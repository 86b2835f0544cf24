"""Invoices, payments and hours, told on the statement."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from reviews.actions import hours as hours_actions
from reviews.actions import invoices as actions
from reviews.forms.filled import filled_in
from reviews.forms.invoices import BecauseForm, HoursForm, InvoiceForm, PaymentForm
from reviews.pages.wording.fees import money_words
from reviews.queries.access import get_answer, get_book, get_invoice, get_payment
from reviews.queries.terms import terms_of
from reviews.rules.contract.fees import Money
from reviews.rules.states import Deed
from reviews.views.signed_in import SignedInRequest


@require_POST
def tell_invoice(request: SignedInRequest, book_id: int) -> HttpResponse:
    book, seat = get_book(request.user, book_id, deed=Deed.INVOICE)
    names = [part.name for version in terms_of(book).history.versions for part in version.instalments]
    given = filled_in(InvoiceForm(request.POST, instalments=names), "invoice-unread")
    money = Money(given.pop("amount"), given.pop("currency").strip().upper())
    told = actions.tell_invoice(book.pk, money=money, **given, actor=seat)
    messages.success(request, f"Invoice {told.number} is told. The art director is being told.")
    return _back(book.pk)


@require_POST
def withdraw_invoice(request: SignedInRequest, invoice_id: int) -> HttpResponse:
    told, seat = get_invoice(request.user, invoice_id, deed=Deed.WITHDRAW_INVOICE)
    given = filled_in(BecauseForm(request.POST), "words-too-long")
    actions.withdraw_invoice(told.pk, given["because"], actor=seat)
    messages.success(request, f"Invoice {told.number} is taken back. The art director is being told.")
    return _back(told.book_id)


@require_POST
def say_paid(request: SignedInRequest, invoice_id: int) -> HttpResponse:
    told, seat = get_invoice(request.user, invoice_id, deed=Deed.SAY_PAID)
    paid = actions.say_paid(told.pk, **filled_in(PaymentForm(request.POST), "payment-day"), actor=seat)
    said = f"{money_words(paid.money)} of invoice {told.number} is told as paid. It counts once its receipt is told."
    messages.success(request, said)
    return _back(told.book_id)


@require_POST
def confirm_payment(request: SignedInRequest, invoice_id: int) -> HttpResponse:
    told, seat = get_invoice(request.user, invoice_id, deed=Deed.CONFIRM_PAYMENT)
    came = actions.confirm_payment(told.pk, **filled_in(PaymentForm(request.POST), "payment-day"), actor=seat)
    messages.success(request, f"{money_words(came.money)} of invoice {told.number} is told as received.")
    return _back(told.book_id)


@require_POST
def withdraw_payment(request: SignedInRequest, payment_id: int) -> HttpResponse:
    told, seat = get_payment(request.user, payment_id, deed=Deed.WITHDRAW_PAYMENT)
    given = filled_in(BecauseForm(request.POST), "words-too-long")
    actions.withdraw_payment(told.pk, given["because"], actor=seat)
    number = told.invoice.number
    messages.success(request, f"That payment of invoice {number} is taken back. The other side is being told.")
    return _back(told.invoice.book_id)


@require_POST
def tell_hours(request: SignedInRequest, answer_id: int) -> HttpResponse:
    answer, seat = get_answer(request.user, answer_id, deed=Deed.TELL_HOURS)
    hours_actions.tell_hours(answer.pk, filled_in(HoursForm(request.POST), "bad-hours")["hours"], actor=seat)
    messages.success(request, "The hours are told. They count once the art director agrees to them.")
    return _back(answer.letter.book_id)


@require_POST
def agree_hours(request: SignedInRequest, answer_id: int) -> HttpResponse:
    answer, seat = get_answer(request.user, answer_id, deed=Deed.AGREE_HOURS)
    hours_actions.agree_hours(answer.pk, filled_in(HoursForm(request.POST), "hours-changed")["hours"], actor=seat)
    messages.success(request, "You agreed to these hours. They are in the extra fees now.")
    return _back(answer.letter.book_id)


def _back(book_id: int) -> HttpResponse:
    return redirect(f"{reverse('reviews:statement', args=[book_id])}#money")
