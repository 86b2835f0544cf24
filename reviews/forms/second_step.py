"""Codes of the second step, and the password asked for before it is changed."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from reviews.models import Person

NOT_YOUR_PASSWORD = "That is not your password. Check small and capital letters."


class CodeForm(forms.Form):
    """Six figures of a telephone, or a recovery code."""

    code = forms.CharField(
        label="Code",
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autofocus": True, "spellcheck": "false"}),
    )


class NowForm(forms.Form):
    """The password of whoever is signed in, so that an unlocked screen is not enough."""

    now = forms.CharField(
        label="Your password now",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_now(self) -> str:
        if not self.person.check_password(self.cleaned_data["now"]):
            raise ValidationError(NOT_YOUR_PASSWORD)
        return self.cleaned_data["now"]
