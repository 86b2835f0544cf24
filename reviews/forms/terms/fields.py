"""What the parts of the terms form are made of: a date, an amount, a currency, a row of a table."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.functional import Promise

from reviews.pages.wording.names import stage_words
from reviews.rules.contract.currencies import MOST_DECIMALS
from reviews.rules.states import StageKind

#: Offered, not required: any code of ISO 4217 will do. The names are our own.
CURRENCIES = (
    ("GBP", "Pound sterling"), ("EUR", "Euro"), ("USD", "United States dollar"), ("AUD", "Australian dollar"),
    ("BRL", "Brazilian real"), ("CAD", "Canadian dollar"), ("CHF", "Swiss franc"), ("CNY", "Chinese yuan"),
    ("CZK", "Czech koruna"), ("DKK", "Danish krone"), ("HUF", "Hungarian forint"), ("INR", "Indian rupee"),
    ("JPY", "Japanese yen"), ("KRW", "South Korean won"), ("MXN", "Mexican peso"), ("NOK", "Norwegian krone"),
    ("NZD", "New Zealand dollar"), ("PLN", "Polish złoty"), ("SEK", "Swedish krona"), ("TRY", "Turkish lira"),
    ("TWD", "Taiwan dollar"), ("ZAR", "South African rand"),
)  # fmt: skip


def stages() -> list[tuple[str, str]]:
    """Offer the stages by the names of the book that is spoken of."""
    return [("", "No stage"), *((kind.value, stage_words(kind)) for kind in StageKind)]


YES_NO = (("yes", "Yes"), ("no", "No"))


def date_field(label: str, **extra: Any) -> forms.DateField:
    return forms.DateField(label=label, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), **extra)


def amount_field(label: str, **extra: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label, required=False, min_value=0, max_digits=10 + MOST_DECIMALS, decimal_places=MOST_DECIMALS, **extra
    )


def currency_field(label: str, **extra: Any) -> forms.CharField:
    widget = forms.TextInput(attrs={"list": "known-currencies", "autocomplete": "off", "spellcheck": "false"})
    return forms.CharField(label=label, required=False, max_length=3, widget=widget, **extra)


class TableRow(forms.Form):
    """A row of a table: read aloud, each field must say which row it is in."""

    def __init__(self, *args: Any, title: str | Promise, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.title = title
        for field in self.fields.values():
            field.widget.attrs["aria-label"] = f"{title}: {str(field.label).lower()}"
