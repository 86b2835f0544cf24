"""Enter or amend the terms: a row per stage, the rules, the money, the instalments, the cancellation steps.

The form writes what it was given as the text of ``rules.terms_text`` and lets the rules read it, so that
whatever is wrong is refused in the rules' own sentences.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from django import forms
from django.utils.functional import Promise
from django.utils.text import capfirst

from reviews.forms.where import PlaceField, ZoneField
from reviews.forms.wrong import WrongField, wrong_fields
from reviews.pages.wording.names import STAGE_WORDS, WHEN_OVER_WORDS
from reviews.pages.wording.refusals import sentence_for
from reviews.rules.contract.currencies import MOST_DECIMALS
from reviews.rules.contract.terms import COVER, EVERY_SPREAD, Milestone, Terms
from reviews.rules.contract.terms_text import terms_from_text, terms_to_text
from reviews.rules.states import Refused, StageKind

MOST_INSTALMENTS = 6
MOST_STEPS = 5

_FEES = ("fee", "round_fee", "hour_fee")

#: Offered, not required: any code of ISO 4217 will do. The names are our own.
CURRENCIES = (
    ("GBP", "Pound sterling"), ("EUR", "Euro"), ("USD", "United States dollar"), ("AUD", "Australian dollar"),
    ("BRL", "Brazilian real"), ("CAD", "Canadian dollar"), ("CHF", "Swiss franc"), ("CNY", "Chinese yuan"),
    ("CZK", "Czech koruna"), ("DKK", "Danish krone"), ("HUF", "Hungarian forint"), ("INR", "Indian rupee"),
    ("JPY", "Japanese yen"), ("KRW", "South Korean won"), ("MXN", "Mexican peso"), ("NOK", "Norwegian krone"),
    ("NZD", "New Zealand dollar"), ("PLN", "Polish złoty"), ("SEK", "Swedish krona"), ("TRY", "Turkish lira"),
    ("TWD", "Taiwan dollar"), ("ZAR", "South African rand"),
)  # fmt: skip

_PARTS = ((EVERY_SPREAD, "Every spread"), (COVER, "Cover alone"))
_STAGES = [("", "No stage"), *((kind.value, words) for kind, words in STAGE_WORDS.items())]
_FALLS = (
    (Milestone.START.value, "Work starts"),
    (Milestone.HAND_IN.value, "Handed in"),
    (Milestone.APPROVAL.value, "Approved"),
    (Milestone.DATE.value, "On a date"),
)
_YES_NO = (("yes", "Yes"), ("no", "No"))


def _date(label: str, **extra: Any) -> forms.DateField:
    return forms.DateField(label=label, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"), **extra)


def _amount(label: str, **extra: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label, required=False, min_value=0, max_digits=10 + MOST_DECIMALS, decimal_places=MOST_DECIMALS, **extra
    )


def _currency(label: str, **extra: Any) -> forms.CharField:
    widget = forms.TextInput(attrs={"list": "known-currencies", "autocomplete": "off", "spellcheck": "false"})
    return forms.CharField(label=label, required=False, max_length=3, widget=widget, **extra)


class _Row(forms.Form):
    """A row of a table: read aloud, each field must say which row it is in."""

    def __init__(self, *args: Any, title: str | Promise, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.title = title
        for field in self.fields.values():
            field.widget.attrs["aria-label"] = f"{title}: {str(field.label).lower()}"


class StageRow(_Row):
    """Days and rounds of one stage; a row that is not ticked is not in the terms."""

    used = forms.BooleanField(label="In the terms", required=False)
    hand_in_days = forms.IntegerField(label="Days to hand in", required=False, min_value=0, max_value=400)
    answer_days = forms.IntegerField(label="Days to answer", required=False, min_value=0, max_value=400)
    rounds = forms.IntegerField(label="Rounds in the fee", required=False, min_value=0, max_value=20)
    group = forms.CharField(label="Shares rounds with", required=False, max_length=40)

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        if given.get("used"):
            for name in ("hand_in_days", "answer_days", "rounds"):
                if name not in self.errors and given.get(name) is None:
                    self.add_error(name, "A figure is missing here.")
        return given


class InstalmentForm(_Row):
    name = forms.CharField(label="Name", required=False, max_length=60)
    falls = forms.ChoiceField(label="Falls due", choices=_FALLS, required=False)
    stage = forms.ChoiceField(label="Stage", choices=_STAGES, required=False)
    on = _date("Date", required=False)
    share = forms.DecimalField(label="Share of the fee, %", required=False, max_digits=5, decimal_places=2)
    amount = _amount("Or an amount")
    currency = _currency("Its currency")
    pay_within_days = forms.IntegerField(label="Paid within days", required=False, min_value=0, max_value=400)


class StepRow(_Row):
    reached = forms.ChoiceField(label="From", choices=_FALLS[:3], required=False)
    stage = forms.ChoiceField(label="Stage", choices=_STAGES, required=False)
    share = forms.DecimalField(label="Share of the fee owed, %", required=False, max_digits=5, decimal_places=2)


class RulesForm(forms.Form):
    """Everything that stands once in the terms."""

    from_on = _date("Holds from")
    place = PlaceField("Where the illustrator works", help_text="Its public holidays are kept. Begin to type a name.")
    other_place = PlaceField("Where the publisher works", help_text="Empty: Monday to Friday, no holidays kept.")
    own_places = forms.ChoiceField(
        label="Which days count where the two places differ",
        choices=(
            ("yes", "Each side’s days are those worked in its own place"),
            ("no", "A day counts only if it is worked in both places"),
        ),
    )
    zone = ZoneField("Time zone in which a day ends")
    shut = forms.CharField(
        label="Other closed days",
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Year, month and day, as 2026-12-24; one after the other.",
    )
    cut_off = forms.TimeField(
        label="Hour after which a thing counts as received later",
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )
    late_receipt = forms.ChoiceField(
        label="What comes in after that hour or on a closed day",
        choices=(("as-is", "Counts from its own day"), ("next-working-day", "Counts from the next working day")),
    )
    counts_receipt = forms.ChoiceField(label="Does the day of receipt count as the first day?", choices=_YES_NO)
    brief_counts = forms.ChoiceField(
        label="Does a letter that only says “the brief was not met” use a round?", choices=_YES_NO
    )
    publisher_late_moves = forms.ChoiceField(
        label="Does each day the publisher is late move the illustrator’s dates by a day?", choices=_YES_NO
    )
    silence_approves_after = forms.IntegerField(
        label="Working days of silence that count as approval",
        required=False,
        min_value=0,
        max_value=400,
        help_text="Empty: silence never approves. Otherwise the portal warns the art director three working days "
        "before, and on the morning after the day it approves: that opens what comes next and makes instalments fall "
        "due. Of several options it approves none; an editor’s objection that no letter carries does not stop it. "
        "The signed contract decides whether silence may do this.",
    )
    when_over = forms.ChoiceField(
        label="A letter beyond the rounds in the fee",
        choices=[(when.value, capfirst(words)) for when, words in WHEN_OVER_WORDS.items()],
    )
    fee = _amount("Fee for the book")
    fee_currency = _currency("Its currency", help_text="Three letters, as GBP. It holds wherever none is given.")
    round_fee = _amount("Fee for each round beyond")
    round_fee_currency = _currency("Its currency")
    hour_fee = _amount("Or a fee by the hour")
    hour_fee_currency = _currency("Its currency")
    house_remark = forms.CharField(
        label="Remark that only the publisher’s side sees",
        required=False,
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="An order number or a budget line. The illustrator and the agent never see it.",
    )


class SeenForm(forms.Form):
    """How many versions the person looked at while writing this one."""

    n_seen = forms.IntegerField(min_value=0)


class ConsentForm(forms.Form):
    words = forms.CharField(label="Why one more round is needed", required=False, max_length=600)


class TermsForm:
    """The whole of the terms as one form. ``error`` is what the rules say against it."""

    def __init__(self, data: Mapping[str, Any] | None = None, *, terms: Terms | None = None) -> None:
        self.error = ""
        self.read: Terms | None = None
        text = terms_to_text(terms) if terms else {}
        self.rules = RulesForm(data, initial=_rules_initial(text) if text else None)
        self.stages = [
            (
                words,
                [
                    StageRow(data, prefix=f"{part or 'all'}-{kind}", title=STAGE_WORDS[kind], initial=initial)
                    for kind in StageKind
                    for initial in [_stage_initial(text, part, kind) if text else None]
                ],
            )
            for part, words in _PARTS
        ]
        self.instalments = [
            InstalmentForm(data, prefix=f"instalment-{n}", title=f"Instalment {n + 1}", initial=initial)
            for n, initial in enumerate(_padded(text.get("instalments", ()), MOST_INSTALMENTS, _instalment_initial))
        ]
        self.steps = [
            StepRow(data, prefix=f"step-{n}", title=f"Step {n + 1}", initial=initial)
            for n, initial in enumerate(_padded(text.get("cancellation", ()), MOST_STEPS, dict))
        ]

    @classmethod
    def to_start_from(cls, terms: Terms, from_on: date) -> TermsForm:
        """Fill the form with terms to start from, to hold from a day on."""
        return cls(terms=replace(terms, from_on=from_on))

    def _forms(self) -> Iterator[forms.Form]:
        yield self.rules
        for _, rows in self.stages:
            yield from rows
        yield from self.instalments
        yield from self.steps

    @property
    def wrong(self) -> list[WrongField]:
        return wrong_fields(self._forms())

    def is_valid(self) -> bool:
        """Read everything, so that everything wrong is said at once, and let the rules judge the whole."""
        found = [form.is_valid() for form in self._forms()]
        if not all(found):
            self.error = "Some figures cannot be read. Each is marked below: correct it, then enter the terms."
            return False
        try:
            self.read = terms_from_text(self._text())
        except Refused as refused:
            self.error = sentence_for(refused)
        return self.read is not None

    def _text(self) -> dict[str, Any]:
        given = self.rules.cleaned_data
        currency = given["fee_currency"].strip()
        return {
            "version": 1,
            "from_on": given["from_on"].isoformat(),
            **_places(given),
            "shut": given["shut"].replace(",", " ").split(),
            "zone": given["zone"],
            "cut_off": given["cut_off"].isoformat("minutes") if given["cut_off"] else None,
            "late_receipt": given["late_receipt"],
            "stages": [line for line, _ in self._stage_lines()],
            "groups": self._groups(),
            **{name: given[name] == "yes" for name in ("counts_receipt", "brief_counts", "publisher_late_moves")},
            "silence_approves_after": given["silence_approves_after"],
            "when_over": given["when_over"],
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

    def _stage_lines(self) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
        for (part, _), (_, rows) in zip(_PARTS, self.stages, strict=True):
            for kind, row in zip(StageKind, rows, strict=True):
                given = row.cleaned_data
                if given["used"]:
                    days = {"hand_in_days": given["hand_in_days"], "answer_days": given["answer_days"]}
                    yield {"stage": kind.value, "part": part, **days}, given

    def _groups(self) -> list[dict[str, Any]]:
        """Put the stages that carry the same word into one group, whose rounds they share."""
        groups: dict[tuple[str, str], dict[str, Any]] = {}
        for line, given in self._stage_lines():
            name = given["group"].strip() or line["stage"]
            group = groups.setdefault(
                (line["part"], name), {"name": name, "stages": [], "rounds": given["rounds"], "part": line["part"]}
            )
            if group["rounds"] != given["rounds"]:
                raise Refused("group-rounds-differ", group=name)
            group["stages"].append(line["stage"])
        return list(groups.values())


def _is_filled(given: Mapping[str, Any]) -> bool:
    return bool(given["name"] or given["share"] is not None or given["amount"] is not None)


def _money(amount: Any, currency: str) -> dict[str, str] | None:
    return None if amount is None else {"amount": str(amount), "currency": currency.strip().upper()}


def _places(given: Mapping[str, Any]) -> dict[str, Any]:
    """Write whose holidays are kept: the illustrator's place first; one place where both have the same or none."""
    pair = [given["place"], given["other_place"]]
    is_own = given["own_places"] == "yes" and pair[0] != pair[1]
    return {"places": pair if is_own else list(dict.fromkeys(filter(None, pair))), "own_places": is_own}


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


def _stage_initial(text: Mapping[str, Any], part: str, kind: StageKind) -> dict[str, Any] | None:
    line = next((line for line in text["stages"] if (line["part"], line["stage"]) == (part, kind)), None)
    if line is None:
        return None
    groups = (one for one in text["groups"] if one["part"] == part and kind in one["stages"])
    group: Mapping[str, Any] = next(groups, {"name": "", "rounds": 0, "stages": []})
    shared = group["name"] if len(group["stages"]) > 1 else ""
    return {"used": True, **line, "rounds": group["rounds"], "group": shared}


def _rules_initial(text: Mapping[str, Any]) -> dict[str, Any]:
    yes = {name: "yes" if text[name] else "no" for name in ("counts_receipt", "brief_counts", "publisher_late_moves")}
    moneys = {name: text[name]["amount"] if text[name] else None for name in _FEES}
    currencies = {f"{name}_currency": text[name]["currency"] if text[name] else "" for name in _FEES}
    # One place is kept by both sides.
    places = text["places"] if len(text["places"]) > 1 else [*(text["places"] or [""])] * 2
    return {
        **text,
        **yes,
        **moneys,
        **currencies,
        "own_places": "yes" if text["own_places"] else "no",
        "shut": " ".join(text["shut"]),
        "place": places[0],
        "other_place": places[1],
    }
