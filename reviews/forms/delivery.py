"""How the files of a delivery are named."""

from __future__ import annotations

from django import forms

from reviews.press.delivery_names import USUAL_PATTERN


class DeliveryForm(forms.Form):
    pattern = forms.CharField(max_length=120, required=False)

    def clean_pattern(self) -> str:
        return self.cleaned_data["pattern"] or USUAL_PATTERN
