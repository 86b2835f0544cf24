"""Tell an invoice, a payment, or hours."""

from __future__ import annotations

from typing import Any

from django import forms

from reviews.forms.terms.fields import amount_field, currency_field, date_field


class InvoiceForm(forms.Form):
    """What was invoiced; ``name`` is one of the instalments, or empty for extra fees."""

    number = forms.CharField(label="Number of the invoice", max_length=60)
    name = forms.ChoiceField(label="For", required=False)
    amount = amount_field("Amount, without tax")
    currency = currency_field("Its currency")
    on = date_field("Day of the invoice")
    words = forms.CharField(label="In a few words, if it needs any", required=False, max_length=200)

    def __init__(self, *args: Any, instalments: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [*((name, name) for name in instalments), ("", "Extra fees")]
        self.fields["name"] = forms.ChoiceField(label="For", required=False, choices=choices)
        self.order_fields(["number", "name", "amount", "currency", "on", "words"])
        self.fields["amount"].required = self.fields["currency"].required = True


class PaymentForm(forms.Form):
    """A sum of an invoice that was paid or came: all that is left where it is empty; ``beyond``: more is no slip."""

    on = date_field("On")
    amount = amount_field("Sum")
    beyond = forms.BooleanField(required=False)


class BecauseForm(forms.Form):
    because = forms.CharField(label="Why", required=False, max_length=300)


class HoursForm(forms.Form):
    hours = forms.DecimalField(label="Hours", min_value=0, max_digits=6, decimal_places=2)
