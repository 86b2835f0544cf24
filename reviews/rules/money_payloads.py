"""The shapes of the payloads of invoices, payments and hours, and of a letter taken back."""

from __future__ import annotations

from typing import Annotated, Any, NotRequired, TypedDict

from reviews.rules.payload_shapes import LATER, Where


class InvoiceData(TypedDict):
    """Something was invoiced: ``name`` is the instalment it is for, empty for changes and anything else.

    ``money`` is written as ``fees_text`` writes an amount, ``on`` is the day on the invoice.
    """

    invoice: int
    number: str
    name: str
    words: str
    money: dict[str, Any]
    on: str


class WithdrawInvoiceData(TypedDict):
    """An invoice was taken back by whoever's side had told it."""

    invoice: int
    number: str
    reason: str


class PaymentData(TypedDict):
    """The publisher said that a sum of an invoice was paid, or the illustrator's side that it came, on a day.

    ``payment`` is its row, ``money`` the sum; an entry that lacks them is of the whole invoice.
    """

    invoice: int
    number: str
    on: str
    payment: NotRequired[Annotated[int, LATER]]
    money: NotRequired[Annotated[dict[str, Any], LATER]]


class WithdrawPaymentData(TypedDict):
    """A side took back what it had said of a payment; ``told`` is the entry that had said it, ``said`` which word."""

    payment: int
    invoice: int
    number: str
    said: str
    money: dict[str, Any]
    on: str
    told: int
    reason: str


class HoursData(Where):
    """Hours were told for one round by the hour, or agreed to; ``round`` is the ledger entry of its letter.

    ``hours`` is written in figures, with a point.
    """

    round: int
    letter: int
    hours: str


class BackPassageData(Where):
    """Where one passage stands again after the letter that changed it was taken back."""

    passage: int
    to: str
    due_on: str | None
    answer_due_on: str | None
    pending: int | None
    sha256: str


class TakeBackLetterData(TypedDict):
    """A letter was taken back before anybody answered it: ``sent`` is the entry that had sent it."""

    letter: int
    number: int
    sent: int
    reason: str
    passages: list[BackPassageData]
