"""Where a piece goes, and how."""

from __future__ import annotations

from django import forms

from reviews.rules.repagination import Moving


class MoveForm(forms.Form):
    """The deed looks for the place in the book."""

    to = forms.IntegerField(min_value=1)
    moving = forms.ChoiceField(choices=[(moving.value, moving.value) for moving in Moving])
    reason = forms.CharField(required=False, max_length=300)
