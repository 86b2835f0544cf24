"""Ask an author or an expert reader about spreads."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from reviews.models import Seat, Spread
from reviews.pages.wording.names import role_words


class AskForm(forms.Form):
    """Whom, about which spreads, and what is asked."""

    reader = forms.TypedChoiceField(label=_("Who"), coerce=int)
    spreads = forms.TypedMultipleChoiceField(
        label=_("About which spreads"), coerce=int, widget=forms.CheckboxSelectMultiple
    )
    words = forms.CharField(
        label=_("What you ask"),
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("Such as: is the heron’s nest drawn as it is built? They read these words."),
    )

    def __init__(self, *args: Any, readers: Sequence[Seat], spreads: Sequence[Spread], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        who, about = self.fields["reader"], self.fields["spreads"]
        assert isinstance(who, forms.ChoiceField) and isinstance(about, forms.ChoiceField)
        who.choices = [(seat.pk, f"{seat.person.name}, {capfirst(role_words(seat.role))}") for seat in readers]
        about.choices = [(spread.pk, spread.label) for spread in spreads]
