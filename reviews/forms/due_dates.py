"""The shape of a moved date."""

from __future__ import annotations

from django import forms

from reviews.rules.contract.due_dates import ANSWER, HAND_IN


class DueDateForm(forms.Form):
    which = forms.ChoiceField(
        label="Which date", choices=[(HAND_IN, "The hand-in"), (ANSWER, "The publisher’s answer")]
    )
    to = forms.DateField(label="New date", widget=forms.DateInput(attrs={"type": "date"}))
    reason = forms.CharField(label="Reason, read by both sides", max_length=300)
