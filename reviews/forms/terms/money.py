"""Money in the terms: the fee, what goes beyond it, the instalments, and what is owed if the book stops."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms import BoundField

from reviews.forms.terms.fields import TableRow, amount_field, currency_field, date_field, stages
from reviews.rules.contract.fees import AT_A_STAGE, COVER, EVERY_SPREAD, INTERIOR, Milestone, PricedBy

MOST_INSTALMENTS = 6
MOST_STEPS = 5
MOST_PRICES = 6

_FEES = ("fee", "round_fee", "hour_fee")

_STEPS = (
    (Milestone.START.value, "Work starts"),
    (Milestone.HAND_IN.value, "Handed in"),
    (Milestone.APPROVAL.value, "Approved"),
)
_FALLS = (
    *_STEPS,
    (Milestone.SIGNATURE.value, "On signature"),
    (Milestone.PUBLICATION.value, "At publication"),
    (Milestone.DATE.value, "On a date"),
)
_OF_WHAT = ((EVERY_SPREAD, "Every spread"), (COVER, "The cover alone"), (INTERIOR, "The interior alone"))
_PRICED_BY = (
    (PricedBy.ROUND.value, "Each round"),
    (PricedBy.LETTER.value, "The whole letter"),
    (PricedBy.HOUR.value, "Each hour"),
)
_ABOUT = (("no", "Extra rounds"), ("yes", "After approval"))


def _any_stage() -> list[tuple[str, str]]:
    return [("", "Every stage"), *stages()[1:]]


_BETWEEN = (("no", "Stays until the next step is reached"), ("yes", "Rises by equal parts with each stage done"))


class FeesForm(forms.Form):
    """The sums that stand once in the terms."""

    fee = amount_field("Fee for the book")
    fee_currency = currency_field("Its currency", help_text="Three letters, as GBP. It holds wherever none is given.")
    round_fee = amount_field("Fee for each extra round")
    round_fee_currency = currency_field("Its currency")
    hour_fee = amount_field("Or a fee by the hour")
    hour_fee_currency = currency_field("Its currency")
    free_share = forms.DecimalField(
        label="Changes are free up to this share of the fee, %",
        required=False,
        max_digits=5,
        decimal_places=2,
        help_text="Together, whatever they are. Empty: every extra round costs something.",
    )
    signed_on = date_field(
        "Day of signing", required=False, help_text="Instalments on signature fall due on it, not when work starts."
    )
    published_on = date_field(
        "Day of publication", required=False, help_text="Once both sides know it. Empty: nothing falls due by it yet."
    )
    kill_pro_rata = forms.ChoiceField(label="The kill fee between two steps", choices=_BETWEEN, required=False)


class InstalmentForm(TableRow):
    name = forms.CharField(label="Name", required=False, max_length=60)
    falls = forms.ChoiceField(label="Falls due", choices=_FALLS, required=False)
    stage = forms.ChoiceField(label="Stage", choices=stages, required=False)
    on = date_field("Date", required=False)
    share = forms.DecimalField(label="Share of the fee, %", required=False, max_digits=5, decimal_places=2)
    amount = amount_field("Or an amount")
    currency = currency_field("Its currency")
    pay_within_days = forms.IntegerField(label="Paid within days", required=False, min_value=0, max_value=400)
    part = forms.ChoiceField(label="Of which spreads", choices=_OF_WHAT, required=False)
    of_spreads = forms.IntegerField(label="How many of them, %", required=False, min_value=1, max_value=100)
    after_days = forms.IntegerField(
        label="Or days after delivery, if earlier", required=False, min_value=0, max_value=400
    )


class PriceRow(TableRow):
    after_approval = forms.ChoiceField(label="For changes", choices=_ABOUT, required=False)
    stage = forms.ChoiceField(label="Stage", choices=_any_stage, required=False)
    by = forms.ChoiceField(label="Paid for", choices=_PRICED_BY, required=False)
    amount = amount_field("Amount")
    currency = currency_field("Its currency")
    share = forms.DecimalField(label="Or a share of the fee, %", required=False, max_digits=5, decimal_places=2)


class StepRow(TableRow):
    reached = forms.ChoiceField(label="From", choices=_STEPS, required=False)
    stage = forms.ChoiceField(label="Stage", choices=stages, required=False)
    share = forms.DecimalField(label="Share of the fee owed, %", required=False, max_digits=5, decimal_places=2)


@dataclass(frozen=True)
class MoneyTable:
    """Rows of one clause, folded away behind a line that says what is filled in.

    ``columns`` are headings with the field under each; ``key`` names the table in addresses.
    """

    key: str
    title: str
    columns: tuple[tuple[str, str], ...]
    rows: list[TableRow]

    @property
    def told(self) -> list[str]:
        """Say in a few words what each row holds that is filled in."""
        return [words for row in self.rows if (words := _row_words(row))]

    @property
    def is_wrong(self) -> bool:
        """Say whether something in it cannot be read: then it stands open."""
        return any(row.errors for row in self.rows if row.is_bound)

    @property
    def cells(self) -> list[list[tuple[str, BoundField]]]:
        return [[(heading, row[name]) for heading, name in self.columns] for row in self.rows]


def _row_words(row: TableRow) -> str:
    """Name a row and its figure; nothing where it has no figure and no name."""

    def given(name: str) -> str:
        value = row[name].value() if name in row.fields else None
        return "" if value in (None, "") else str(value)

    figure = f"{given('share')} %" if given("share") else f"{given('amount')} {given('currency')}".strip()
    named = next((name for name in _NAMED_BY if name in row.fields), "")
    choices = dict(getattr(row.fields[named], "choices", ()))
    words = given(named) if named == "name" else str(choices.get(given(named), "")) if given("share") or figure else ""
    return f"{words} {figure}".strip() if figure or words else ""


#: What a row is called by, the first of these that it has.
_NAMED_BY = ("name", "reached", "after_approval")

_STEP_COLUMNS = (("From when", "reached"), ("At stage", "stage"), ("Share of the fee owed, %", "share"))
_PRICE_COLUMNS = (
    ("For changes", "after_approval"),
    ("At stage", "stage"),
    ("Paid for", "by"),
    ("Amount", "amount"),
    ("Its currency", "currency"),
    ("Or a share of the fee, %", "share"),
)
_INSTALMENT_COLUMNS = (
    ("Name", "name"),
    ("Falls due when", "falls"),
    ("At stage", "stage"),
    ("Or date", "on"),
    ("Share, %", "share"),
    ("Or an amount", "amount"),
    ("Its currency", "currency"),
    ("Paid within days", "pay_within_days"),
    ("Of which spreads", "part"),
    ("How many, %", "of_spreads"),
    ("Or days after delivery, if earlier", "after_days"),
)


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
        self.rejection = [
            StepRow(data, prefix=f"rejection-{n}", title=f"Step {n + 1} of a rejection", initial=initial)
            for n, initial in enumerate(_padded(text.get("rejection", ()), MOST_STEPS, dict))
        ]
        self.prices = [
            PriceRow(data, prefix=f"price-{n}", title=f"Price {n + 1}", initial=initial)
            for n, initial in enumerate(_padded(text.get("prices", ()), MOST_PRICES, _price_initial))
        ]

    @property
    def tables(self) -> list[MoneyTable]:
        """Give the clauses that are tables, in the order in which contracts have them."""
        return [
            MoneyTable("instalments", "Instalments", _INSTALMENT_COLUMNS, [*self.instalments]),
            MoneyTable("prices", "Prices that differ from the fee for a round", _PRICE_COLUMNS, [*self.prices]),
            MoneyTable("kill-fee", "Kill fee (if the book is cancelled)", _STEP_COLUMNS, [*self.steps]),
            MoneyTable(
                "rejection",
                "If the work is rejected, where the contract says so apart",
                _STEP_COLUMNS,
                [*self.rejection],
            ),
        ]

    def __iter__(self) -> Iterator[forms.Form]:
        yield self.fees
        yield from self.instalments
        yield from self.steps
        yield from self.rejection
        yield from self.prices

    def text(self) -> dict[str, Any]:
        """Write what was given as the text of terms."""
        given = self.fees.cleaned_data
        currency = given["fee_currency"].strip()
        return {
            **{name: _money(given[name], given[f"{name}_currency"] or currency) for name in _FEES},
            "instalments": [
                _instalment(row.cleaned_data, currency) for row in self.instalments if _is_filled(row.cleaned_data)
            ],
            "cancellation": _steps(self.steps),
            "rejection": _steps(self.rejection),
            "kill_pro_rata": given["kill_pro_rata"] == "yes",
            "prices": [
                _price(row.cleaned_data, currency)
                for row in self.prices
                if row.cleaned_data["amount"] is not None or row.cleaned_data["share"] is not None
            ],
            "free_share": _figure(given["free_share"]),
            "signed_on": _day(given["signed_on"]),
            "published_on": _day(given["published_on"]),
        }


def _steps(rows: Iterable[StepRow]) -> list[dict[str, Any]]:
    return [
        {"reached": step["reached"], "share": str(step["share"]), "stage": _stage_of(step, "reached")}
        for step in (row.cleaned_data for row in rows)
        if step["share"] is not None
    ]


def _price(given: Mapping[str, Any], currency: str) -> dict[str, Any]:
    return {
        "by": given["by"] or PricedBy.ROUND.value,
        "stage": given["stage"],
        "after_approval": given["after_approval"] == "yes",
        "amount": _money(given["amount"], given["currency"] or currency),
        "share": _figure(given["share"]),
    }


def _figure(value: Any) -> str | None:
    return None if value is None else str(value)


def _day(value: Any) -> str | None:
    return value.isoformat() if value else None


def _is_filled(given: Mapping[str, Any]) -> bool:
    return bool(given["name"] or given["share"] is not None or given["amount"] is not None)


def _money(amount: Any, currency: str) -> dict[str, str] | None:
    return None if amount is None else {"amount": str(amount), "currency": currency.strip().upper()}


def _stage_of(given: Mapping[str, Any], key: str) -> str:
    """Leave a stage out where the milestone has none, whatever the row still says."""
    return given["stage"] if given[key] in AT_A_STAGE else ""


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
        # A row says nothing of spreads where no spread makes it fall due.
        **(_of_spreads(given) if given["falls"] in AT_A_STAGE else {}),
    }


def _of_spreads(given: Mapping[str, Any]) -> dict[str, Any]:
    after_days = given["after_days"] if given["falls"] == Milestone.APPROVAL else None
    return {"part": given["part"], "of_spreads": given["of_spreads"] or 100, "after_days": after_days}


def _padded(lines: Any, most: int, initial: Any) -> list[dict[str, Any] | None]:
    found: list[dict[str, Any] | None] = [initial(line) for line in lines]
    return found + [None] * (most - len(found))


def _instalment_initial(part: Mapping[str, Any]) -> dict[str, Any]:
    money = part["amount"] or {"amount": None, "currency": ""}
    return {**part, **money}


def _price_initial(price: Mapping[str, Any]) -> dict[str, Any]:
    money = price["amount"] or {"amount": None, "currency": ""}
    return {**price, **money, "after_approval": "yes" if price["after_approval"] else "no"}


def _fees_initial(text: Mapping[str, Any]) -> dict[str, Any]:
    moneys = {name: text[name]["amount"] if text[name] else None for name in _FEES}
    currencies = {f"{name}_currency": text[name]["currency"] if text[name] else "" for name in _FEES}
    once = {name: text[name] for name in ("free_share", "signed_on", "published_on")}
    return {**moneys, **currencies, **once, "kill_pro_rata": "yes" if text["kill_pro_rata"] else "no"}
