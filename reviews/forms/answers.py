"""The shape of answers: the illustrator's to a note, the second voice's to a hand-in."""

from __future__ import annotations

from django import forms

from reviews.forms.letters import AnyNumbers
from reviews.rules.states import Response


class ResponseForm(forms.Form):
    response = forms.CharField(max_length=10)
    words = forms.CharField(required=False, max_length=4000)
    # A note on the book can be answered for some of its spreads.
    by_spread = forms.BooleanField(required=False)
    spread = AnyNumbers(coerce=int, required=False)


class RefusedAnswerForm(forms.Form):
    """What the address of a letter says of an answer that was refused; both of its kinds need words."""

    note = forms.IntegerField()
    response = forms.ChoiceField(choices=[(kind.value, kind.value) for kind in (Response.NOT_DONE, Response.QUESTION)])


class AgreedForm(forms.Form):
    """The hand-ins that were agreed to together."""

    hand_in = AnyNumbers(coerce=int, required=False)


class ObjectionForm(forms.Form):
    words = forms.CharField(required=False, max_length=4000)
