"""A brief as it is typed: its parts, the version it was begun from, whose it is."""

from __future__ import annotations

from django import forms

from reviews.forms.notes import LARGEST_NUMBER
from reviews.rules.briefs import BriefPart


class BriefForm(forms.Form):
    """How long a part may be is judged by the action, which says so in a sentence."""

    spread = forms.IntegerField(required=False, max_value=LARGEST_NUMBER)
    seen = forms.IntegerField(min_value=0, max_value=32_000)

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        for part in BriefPart:
            self.fields[part.value] = forms.CharField(required=False, strip=False)

    @property
    def parts(self) -> dict[str, str]:
        """Give what was typed, part by part, also where something else in the form is wrong."""
        return {part.value: str(self.data.get(part.value, "")).replace("\0", "") for part in BriefPart}


class OfSpreadForm(forms.Form):
    """Which brief something is put beside: a spread's, or without one the book's."""

    spread = forms.IntegerField(required=False, max_value=LARGEST_NUMBER)
