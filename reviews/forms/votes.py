"""Open a vote, give a ballot, decide."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from reviews.models import Seat
from reviews.rules.states import Refused
from reviews.rules.votes import MOST_REASONS, MOST_WORDS, ranks_of


class OpenVoteForm(forms.Form):
    words = forms.CharField(
        label=_("What is asked"), max_length=MOST_WORDS, required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("One or two sentences above the options, for instance who the book is for."),
    )  # fmt: skip
    until = forms.DateField(
        label=_("Last day to vote"), required=False, widget=forms.DateInput(attrs={"type": "date"}),
        help_text=_("Afterwards no ballot is taken. You close the vote yourself, then or earlier."),
    )  # fmt: skip
    decider = forms.TypedChoiceField(label=_("Who decides afterwards"), coerce=int)

    def __init__(self, *args: Any, deciders: Sequence[Seat], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["decider"].choices = [(seat.pk, str(seat.person)) for seat in deciders]  # type: ignore[attr-defined]


class DecideForm(forms.Form):
    picture = forms.IntegerField()
    reasons = forms.CharField(max_length=MOST_REASONS, required=False)


def ranks_given(data: Mapping[str, Any], options: Sequence[int]) -> list[list[int]]:
    """Read the place that a posted ballot gives each option; an empty one is not placed.

    Raises Refused where a place is no place.
    """
    places: dict[int, int] = {}
    for option in options:
        given = str(data.get(f"place-{option}", "")).strip()
        if not given:
            continue
        if not (given.isascii() and given.isdecimal() and len(given) <= 3 and 1 <= int(given) <= len(options)):
            raise Refused("ballot-unreadable")
        places[option] = int(given)
    return ranks_of(places)
