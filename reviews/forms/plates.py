"""What a plate is for."""

from __future__ import annotations

from django import forms

from reviews.press.finish import Finish, Metal, PlateWay


class PlateForm(forms.Form):
    finish = forms.ChoiceField(choices=[(one.value, one.value) for one in Finish])
    way = forms.ChoiceField(choices=[(one.value, one.value) for one in PlateWay])
    channel = forms.IntegerField(min_value=0, max_value=255, required=False)
    metal = forms.ChoiceField(choices=[(one.value, one.value) for one in Metal], required=False)
