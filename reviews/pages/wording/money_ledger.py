"""The ledger's sentences about invoices, payments, hours, and a letter taken back."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _

from reviews.pages.wording.dates import day_words
from reviews.pages.wording.fees import money_words
from reviews.rules.contract.terms_text import money_from_text
from reviews.rules.entries import Entry
from reviews.rules.money_payloads import HoursData, InvoiceData, PaymentData, TakeBackLetterData, WithdrawPaymentData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Said


def invoice_sentence(entry: Entry) -> str:
    """Tell that something was invoiced."""
    data = payload_of(entry, InvoiceData)
    told = _("{by} says that invoice {number} went out on {day}: {money} for {what}.")
    what = f"“{data['name']}”" if data["name"] else _("extra fees")
    if data["words"]:
        what = f"{what} ({data['words']})"
    return told.format(
        by=entry.by, number=data["number"], day=_day(data["on"]), money=money_words(money_from_text(data["money"])),
        what=what,
    )  # fmt: skip


def paid_sentence(entry: Entry) -> str:
    """Tell that the publisher says an invoice was paid."""
    part = _("{by} says that {sum} of invoice {number} was paid on {day}; it counts once its receipt is told.")
    whole = _("{by} says that invoice {number} was paid on {day}; it counts once its receipt is told.")
    return _payment(entry, whole, part)


def received_sentence(entry: Entry) -> str:
    """Tell that the money of an invoice came."""
    part = _("{by} says that {sum} of invoice {number} came on {day}.")
    return _payment(entry, _("{by} says that the money of invoice {number} came on {day}."), part)


def _payment(entry: Entry, whole: str, part: str) -> str:
    """Name the sum, which entries of before parts could be told do not know: theirs was the whole invoice."""
    data = payload_of(entry, PaymentData)
    told = {"by": entry.by, "number": data["number"], "day": _day(data["on"])}
    if "money" not in data:
        return whole.format(**told)
    return part.format(sum=money_words(money_from_text(data["money"])), **told)


def payment_taken_back_sentence(entry: Entry) -> str:
    """Tell that a side took back what it had said of a payment."""
    data = payload_of(entry, WithdrawPaymentData)
    told = (
        _("{by} took back that {sum} of invoice {number} was paid on {day}: {reason}")
        if data["said"] == Said.PAID
        else _("{by} took back that {sum} of invoice {number} came on {day}: {reason}")
    )
    return told.format(
        by=entry.by, number=data["number"], day=_day(data["on"]), reason=data["reason"],
        sum=money_words(money_from_text(data["money"])),
    )  # fmt: skip


def told_hours_sentence(entry: Entry) -> str:
    """Tell the hours that a round took, as the illustrator's side says."""
    told = _("{by} says that the changes of letter {letter} on {where} took {hours} hours; they count once agreed to.")
    return _hours(entry, told)


def agreed_hours_sentence(entry: Entry) -> str:
    """Tell that the publisher agreed to the hours."""
    return _hours(entry, _("{by} agreed to {hours} hours for the changes of letter {letter} on {where}."))


def _hours(entry: Entry, told: str) -> str:
    data = payload_of(entry, HoursData)
    return told.format(by=entry.by, letter=data["letter"], where=data["where"], hours=data["hours"])


def taken_back_sentence(entry: Entry) -> str:
    """Tell that a letter was taken back."""
    data = payload_of(entry, TakeBackLetterData)
    told = _("{by} took letter {number} back before anybody had answered it; it counts no round: {reason}")
    return told.format(by=entry.by, number=data["number"], reason=data["reason"])


def _day(value: str) -> str:
    return day_words(date.fromisoformat(value))
