"""The shape of a pause that is proposed, or of other days for one that stands."""

from __future__ import annotations

from typing import Any

from django import forms

from reviews.rules.states import Refused


class PauseForm(forms.Form):
    """``pause`` numbers one that stands, ``calls_off`` takes it back; ``seen`` is the open proposal on the page."""

    first = forms.DateField(label="First day", widget=forms.DateInput(attrs={"type": "date"}))
    last = forms.DateField(label="Last day", required=False, widget=forms.DateInput(attrs={"type": "date"}))
    reason = forms.CharField(label="Reason, read by both sides", max_length=300)
    forgives = forms.BooleanField(required=False)
    calls_off = forms.BooleanField(required=False)
    pause = forms.IntegerField(required=False, min_value=1)
    seen = forms.IntegerField(required=False, min_value=1)

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or {}
        if given.pop("calls_off", False):
            given["last"] = None
        elif given.get("last") is None:
            raise Refused("pause-without-end")
        return given
