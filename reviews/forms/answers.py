"""The shape of answers: the illustrator's to a note, the second voice's to a hand-in."""

from __future__ import annotations

from django import forms


class ResponseForm(forms.Form):
    response = forms.CharField(max_length=10)
    words = forms.CharField(required=False, max_length=4000)


class ObjectionForm(forms.Form):
    words = forms.CharField(required=False, max_length=4000)
