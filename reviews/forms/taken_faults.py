"""Which stopper is taken on, and why."""

from __future__ import annotations

from django import forms


class TakeOnForm(forms.Form):
    picture = forms.IntegerField(min_value=1)
    code = forms.CharField(max_length=40)
    seen = forms.CharField(max_length=64)
    reason = forms.CharField(max_length=300)
