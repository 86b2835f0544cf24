"""The sentences for invoices, payments, hours and letters that cannot be told so: what is wrong, and what to do."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

MONEY_REFUSALS: dict[str, Promise] = {
    "invoice-number": _("An invoice has a number. Give it, so that both sides mean the same one."),
    "invoice-twice": _("Invoice {number} is told already. Give this one its own number."),
    "invoice-of-nothing": _("An invoice is for more than nothing. Give its amount, without tax."),
    "invoice-for-what": _("The terms name no instalment “{name}”. Choose one of them, or extra fees."),
    "invoice-day-to-come": _("That day is still to come. Give one up to {today}."),
    "invoice-paid": _("Invoice {number} is told as paid already. Take the payment back first if that was a mistake."),
    "invoice-gone": _("That invoice was taken back."),
    "invoice-unread": _("The invoice cannot be read. Give its number, its amount in figures and its day."),
    "payment-day": _("Give the day of the payment as year, month and day, and its sum in figures."),
    "payment-of-nothing": _("A payment is of more than nothing. Give its sum."),
    "payment-beyond": _(
        "Of invoice {number} there is {currency} {left} left to tell. If it really was more, tick that it was; it is "
        "kept against what falls due next."
    ),
    "payment-gone": _("That payment was taken back already."),
    "payment-not-yours": _("That is the other side's word; only that side can take it back."),
    "bad-hours": _("Give the hours in figures, such as 6 or 6.5, above zero."),
    "hours-agreed": _("These hours are agreed to already."),
    "hours-changed": _("The hours were changed meanwhile. Look at them again, then agree to them."),
    "hours-not-priced": _("These changes are not paid by the hour, so no hours are counted for them."),
    "letter-not-sent": _("This letter has not gone, so there is nothing to take back."),
    "letter-taken-back": _("This letter was taken back already."),
    "letter-answered": _(
        "This letter was answered: {where} has moved on since. What it asked for holds; say in the next letter what "
        "has changed."
    ),
    "letter-invoiced": _(
        "Invoice {number} is for what this letter made due, so the letter cannot be taken back while that invoice is "
        "told."
    ),
    "letter-silenced": _(
        "Taken back, {where} would have had no answer by the day with whose end silence approves. Say in the next "
        "letter what has changed."
    ),
    "take-back-reason": _("Say in a few words why the letter is taken back: the illustrator reads it."),
}
