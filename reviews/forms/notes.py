"""The shape of what is posted about notes; what it means is judged by the actions."""

from __future__ import annotations

from typing import Any

from django import forms

#: An outline drawn by hand is thinned by the page to a few hundred points, some 20 characters each.
MOST_REGION_LETTERS = 128 * 1024
#: The largest number a row can have; beyond it the databases answer with an error instead of “none”.
LARGEST_NUMBER = 2**63 - 1


class RegionField(forms.JSONField):
    """A mark as JSON text. What no page of ours would send is refused before it costs time or stack."""

    default_error_messages = {"invalid": "That mark cannot be read. Draw it again."}

    def to_python(self, value: Any) -> Any:
        if isinstance(value, str) and len(value) > MOST_REGION_LETTERS:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid")
        try:
            return super().to_python(value)
        except (RecursionError, ValueError) as problem:
            # Nested a hundred thousand deep, or a number of five thousand digits.
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid") from problem


class NoteForm(forms.Form):
    """A mark on a picture. ``region`` may be missing when an edit leaves the mark where it is."""

    picture = forms.IntegerField(required=False, max_value=LARGEST_NUMBER)
    region = RegionField(required=False)
    strokes = RegionField(required=False)
    words = forms.CharField(required=False, max_length=4000)
    cause = forms.CharField(required=False, max_length=20)
    error = forms.CharField(required=False, max_length=20)
    reach = forms.CharField(required=False, max_length=20)
    pages = forms.CharField(required=False, max_length=200)
    brief_line = forms.CharField(required=False, max_length=60)
    seen = forms.CharField(required=False, max_length=16)


class PlaceForm(forms.Form):
    """Where a note is on a later picture, shown by hand; or that it goes back to where it was found."""

    picture = forms.IntegerField(max_value=LARGEST_NUMBER)
    region = RegionField(required=False)
    put_back = forms.BooleanField(required=False)


class ReplyForm(forms.Form):
    words = forms.CharField(required=False, max_length=4000)


class MarkForm(forms.Form):
    picture = forms.IntegerField(max_value=LARGEST_NUMBER)
    verdict = forms.CharField(max_length=20)
    why = forms.CharField(required=False, max_length=400)
