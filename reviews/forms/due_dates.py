"""The shape of a date that is proposed, and of the answers to a proposal."""

from __future__ import annotations

from django import forms

from reviews.rules.proposals import WhichDate


class DueDateForm(forms.Form):
    """``seen`` is the number of the open proposal about the same date that stood on the page."""

    which = forms.ChoiceField(
        label="Which date",
        choices=[(WhichDate.HAND_IN.value, "The hand-in"), (WhichDate.ANSWER.value, "The publisher’s answer")],
    )
    to = forms.DateField(label="New date", widget=forms.DateInput(attrs={"type": "date"}))
    reason = forms.CharField(label="Reason, read by both sides", max_length=300)
    forgives = forms.BooleanField(required=False)
    seen = forms.IntegerField(required=False, min_value=1)


class AcceptForm(forms.Form):
    """``stands_on`` is the date that stood on the page beside the proposed one."""

    forgives = forms.BooleanField(required=False)
    stands_on = forms.DateField(required=False)
    reaches_back = forms.BooleanField(required=False)


class ProposalWordsForm(forms.Form):
    """Why a proposal is declined or withdrawn."""

    words = forms.CharField(max_length=300)
