"""The shape of what the art director posts while writing a letter."""

from __future__ import annotations

from typing import Any

from django import forms

from reviews.pages.wording.letter_answers import ANSWER_WORDS
from reviews.rules.states import Weighing

_WEIGHINGS = [(Weighing.THROUGH.value, "Include it"), (Weighing.HELD.value, "Leave it out")]


class AnswerForm(forms.Form):
    answer = forms.ChoiceField(choices=[(answer.value, words) for answer, words in ANSWER_WORDS.items()])
    picture = forms.IntegerField(required=False)


class AnyNumbers(forms.TypedMultipleChoiceField):
    """Any numbers: the deed looks for what they name."""

    def valid_value(self, value: str) -> bool:
        return value.isdecimal()


class NamedForm(forms.Form):
    """The spreads that were named on the screen when all of them were approved at once."""

    passage = AnyNumbers(coerce=int, required=False)


class WeighForm(forms.Form):
    """One note's weighing; or, where several people marked one place, what becomes of the ``others``."""

    weighing = forms.ChoiceField(choices=_WEIGHINGS, required=False)
    letter_words = forms.CharField(required=False, max_length=4000)
    others = forms.ChoiceField(choices=_WEIGHINGS, required=False)
    seen = forms.CharField(required=False, max_length=16)

    def clean(self) -> dict[str, Any]:
        given = self.cleaned_data
        if not given.get("weighing") and not given.get("others"):
            raise forms.ValidationError("Neither is chosen.", code="weigh-how")
        return given


class OpenedForm(forms.Form):
    """Which spread of the draft one comes to: it stands open, whatever it needs."""

    open = forms.IntegerField(required=False)


class WordsForm(forms.Form):
    words = forms.CharField(required=False, max_length=8000)
    seen = forms.CharField(required=False, max_length=16)


class SendForm(forms.Form):
    """``looked_at`` is the fingerprint of the draft that was on the screen; ``leave`` are notes that came since."""

    looked_at = forms.CharField(max_length=64)
    over_is_agreed = forms.BooleanField(required=False)
    over_brief = forms.BooleanField(required=False)
    leave = AnyNumbers(coerce=int, required=False)


class LookedForm(forms.Form):
    """The marks of the draft that was on the screen, part by part."""

    marks = forms.JSONField(required=False)

    @property
    def looked(self) -> dict[str, Any]:
        """What was on the screen, or nothing where that cannot be read."""
        found = self.cleaned_data.get("marks") if self.is_valid() else None
        return found if isinstance(found, dict) else {}
