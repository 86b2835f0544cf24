"""The whole of the terms as one form, and the small forms beside it.

It writes what it was given as the text of ``rules.contract.terms_text`` and lets the rules read it, so that
whatever is wrong is refused in the rules' own sentences.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from django import forms

from reviews.forms.terms.days import DayRows
from reviews.forms.terms.money import MoneyForms
from reviews.forms.terms.rules import RulesForm, rules_initial
from reviews.forms.terms.stages import StageRows
from reviews.forms.wrong import WrongField, wrong_fields
from reviews.pages.wording.refusals import sentence_for
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.terms_text import terms_from_text, terms_to_text
from reviews.rules.states import Refused


class SeenForm(forms.Form):
    """How many versions the person looked at while writing this one, and which open proposal, by its number."""

    n_seen = forms.IntegerField(min_value=0)
    seen = forms.IntegerField(required=False, min_value=1)


class ConfirmForm(forms.Form):
    """Which version is confirmed, by its number: the one that was read."""

    version = forms.IntegerField(min_value=1)


class ConsentForm(forms.Form):
    words = forms.CharField(label="Why one more round is needed", required=False, max_length=600)


class TermsForm:
    """The whole of the terms as one form. ``error`` is what the rules say against it."""

    def __init__(self, data: Mapping[str, Any] | None = None, *, terms: Terms | None = None) -> None:
        self.error = ""
        self.read: Terms | None = None
        text = terms_to_text(terms) if terms else {}
        self.rules = RulesForm(data, initial=rules_initial(text) if text else None)
        self.stages = StageRows(data, text)
        self.days = DayRows(data, text)
        self.money = MoneyForms(data, text)

    @classmethod
    def to_start_from(cls, terms: Terms, from_on: date) -> TermsForm:
        """Fill the form with terms to start from, to hold from a day on."""
        return cls(terms=replace(terms, from_on=from_on))

    def _forms(self) -> Iterator[forms.Form]:
        yield self.rules
        yield from self.stages
        yield from self.days
        yield from self.money

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
            self.read = terms_from_text(self.rules.text() | self.stages.text() | self.days.text() | self.money.text())
        except Refused as refused:
            self.error = sentence_for(refused)
        return self.read is not None
