"""At which resolution a template is drawn as a picture."""

from __future__ import annotations

from django import forms

LEAST_PPI, MOST_PPI, USUAL_PPI = 36, 1200, 300


class ResolutionForm(forms.Form):
    ppi = forms.IntegerField(min_value=LEAST_PPI, max_value=MOST_PPI, required=False)

    def clean_ppi(self) -> int:
        return self.cleaned_data["ppi"] or USUAL_PPI
