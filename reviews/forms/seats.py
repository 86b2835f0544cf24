"""Offer a seat."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from django import forms
from django.utils.text import capfirst

from reviews.models import Passage
from reviews.pages.wording.names import ROLE_WORDS
from reviews.rules.states import Role


class InviteForm(forms.Form):
    """Whom to invite as what; a guest is invited to one spread at one stage."""

    name = forms.CharField(label="Name", max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    email = forms.EmailField(
        label="E-mail address", max_length=254, widget=forms.EmailInput(attrs={"autocomplete": "off"})
    )
    role = forms.ChoiceField(label="Part on this book", choices=[(r.value, capfirst(w)) for r, w in ROLE_WORDS.items()])
    passage = forms.ChoiceField(
        label="For a guest: the options to choose from",
        required=False,
        help_text="A guest sees this one spread and nothing else of the book.",
    )

    def __init__(self, *args: Any, passages: Sequence[Passage], roles: Collection[Role], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.roles = frozenset(map(str, roles))
        part, passage = self.fields["role"], self.fields["passage"]
        assert isinstance(part, forms.ChoiceField) and isinstance(passage, forms.ChoiceField)
        offered = [(role.value, capfirst(words)) for role, words in ROLE_WORDS.items() if role in roles]
        passage.choices = [("", "None, not a guest")] + [(str(p.pk), p.where) for p in passages]
        if not passages or Role.GUEST not in roles:
            # Without ideas that the publisher sees there is nothing a guest could be shown.
            del self.fields["passage"]
            offered = [(role, words) for role, words in offered if role != Role.GUEST]
        part.choices = offered

    def clean(self) -> dict:
        data = super().clean() or {}
        if data.get("role") == Role.GUEST and not data.get("passage") and "passage" not in self.errors:
            self.add_error("passage", "A guest is invited to one spread. Choose it.")
        return data

    @property
    def passage_id(self) -> int | None:
        if self.cleaned_data["role"] != Role.GUEST:
            return None
        return int(self.cleaned_data["passage"])
