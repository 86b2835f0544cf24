"""Money in the terms: the fee, what goes beyond it, the instalments, and what is owed if the book stops."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms

from reviews.forms.terms.fields import STAGES, TableRow, amount_field, currency_field, date_field
from reviews.rules.contract.terms import Milestone

MOST_INSTALMENTS = 6
MOST_STEPS = 5

_FEES = ("fee", "round_fee", "hour_fee")

_FALLS = (
    (Milestone.START.value, "Work starts"),
    (Milestone.HAND_IN.value, "Handed in"),
    (Milestone.APPROVAL.value, "Approved"),
    (Milestone.DATE.value, "On a date"),
)


class FeesForm(forms.Form):
    """The sums that stand once in the terms."""

    fee = amount_field("Fee for the book")
    fee_currency = currency_field("Its currency", help_text="Three letters, as GBP. It holds wherever none is given.")
    round_fee = amount_field("Fee for each round beyond")
    round_fee_currency = currency_field("Its currency")
    hour_fee = amount_field("Or a fee by the hour")
    hour_fee_currency = currency_field("Its currency")


class InstalmentForm(TableRow):
    name = forms.CharField(label="Name", required=False, max_length=60)
    falls = forms.ChoiceField(label="Falls due", choices=_FALLS, required=False)
    stage = forms.ChoiceField(label="Stage", choices=STAGES, required=False)
    on = date_field("Date", required=False)
    share = forms.DecimalField(label="Share of the fee, %", required=False, max_digits=5, decimal_places=2)
    amount = amount_field("Or an amount")
    currency = currency_field("Its currency")
    pay_within_days = forms.IntegerField(label="Paid within days", required=False, min_value=0, max_value=400)


class StepRow(TableRow):
    reached = forms.ChoiceField(label="From", choices=_FALLS[:3], required=False)
    stage = forms.ChoiceField(label="Stage", choices=STAGES, required=False)
    share = forms.DecimalField(label="Share of the fee owed, %", required=False, max_digits=5, decimal_places=2)


class MoneyForms:
    """Everything about money in the terms."""

    def __init__(self, data: Mapping[str, Any] | None, text: Mapping[str, Any]) -> None:
        self.fees = FeesForm(data, initial=_fees_initial(text) if text else None)
        self.instalments = [
            InstalmentForm(data, prefix=f"instalment-{n}", title=f"Instalment {n + 1}", initial=initial)
            for n, initial in enumerate(_padded(text.get("instalments", ()), MOST_INSTALMENTS, _instalment_initial))
        ]
        self.steps = [
            StepRow(data, prefix=f"step-{n}", title=f"Step {n + 1}", initial=initial)
            for n, initial in enumerate(_padded(text.get("cancellation", ()), MOST_STEPS, dict))
        ]

    def __iter__(self) -> Iterator[forms.Form]:
        yield self.fees
        yield from self.instalments
        yield from self.steps

    def text(self) -> dict[str, Any]:
        """Write what was given as the text of terms."""
        given = self.fees.cleaned_data
        currency = given["fee_currency"].strip()
        return {
            **{name: _money(given[name], given[f"{name}_currency"] or currency) for name in _FEES},
            "instalments": [
                _instalment(row.cleaned_data, currency) for row in self.instalments if _is_filled(row.cleaned_data)
            ],
            "cancellation": [
                {"reached": step["reached"], "share": str(step["share"]), "stage": _stage_of(step, "reached")}
                for step in (row.cleaned_data for row in self.steps)
                if step["share"] is not None
            ],
        }


def _is_filled(given: Mapping[str, Any]) -> bool:
    return bool(given["name"] or given["share"] is not None or given["amount"] is not None)


def _money(amount: Any, currency: str) -> dict[str, str] | None:
    return None if amount is None else {"amount": str(amount), "currency": currency.strip().upper()}


def _stage_of(given: Mapping[str, Any], key: str) -> str:
    """Leave a stage out where the milestone has none, whatever the row still says."""
    return given["stage"] if given[key] in (Milestone.HAND_IN, Milestone.APPROVAL) else ""


def _instalment(given: Mapping[str, Any], currency: str) -> dict[str, Any]:
    on = given["on"] if given["falls"] == Milestone.DATE else None
    return {
        "name": given["name"].strip() or "Without a name",
        "falls": given["falls"],
        "stage": _stage_of(given, "falls"),
        "on": on.isoformat() if on else None,
        "share": str(given["share"]) if given["share"] is not None else None,
        "amount": _money(given["amount"], given["currency"] or currency),
        "pay_within_days": given["pay_within_days"] or 0,
    }


def _padded(lines: Any, most: int, initial: Any) -> list[dict[str, Any] | None]:
    found: list[dict[str, Any] | None] = [initial(line) for line in lines]
    return found + [None] * (most - len(found))


def _instalment_initial(part: Mapping[str, Any]) -> dict[str, Any]:
    money = part["amount"] or {"amount": None, "currency": ""}
    return {**part, **money}


def _fees_initial(text: Mapping[str, Any]) -> dict[str, Any]:
    moneys = {name: text[name]["amount"] if text[name] else None for name in _FEES}
    currencies = {f"{name}_currency": text[name]["currency"] if text[name] else "" for name in _FEES}
    return {**moneys, **currencies}
