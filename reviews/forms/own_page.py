"""A person's own account: name, password, mail."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth import password_validation
from django.core.exceptions import ValidationError

from reviews.forms.sign_in import NameForm
from reviews.models import Person
from reviews.rules.mailing import MAIL_WORDS, MailChoice


class OwnNameForm(NameForm):
    """The name others read; what was signed before keeps the old one."""


class MailChoiceForm(forms.Form):
    """How to hear of what happens."""

    mail = forms.TypedChoiceField(
        label="Mail about your books",
        choices=[(choice.value, words) for choice, words in MAIL_WORDS.items()],
        coerce=MailChoice,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one of the three."},
    )


class OwnPasswordForm(forms.Form):
    """The old password first, so that an unlocked screen is not enough."""

    now = forms.CharField(
        label="Your password now",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    password = forms.CharField(
        label="New password",
        strip=False,
        help_text="At least 10 characters. A short sentence is easy to keep in mind.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label="The new password again",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_now(self) -> str:
        if not self.person.check_password(self.cleaned_data["now"]):
            raise ValidationError("That is not your password. Check small and capital letters.")
        return self.cleaned_data["now"]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        password = data.get("password")
        if not password:
            return data
        if data.get("again") and password != data["again"]:
            self.add_error("again", "The two passwords differ. Type the same one twice.")
        try:
            password_validation.validate_password(password, self.person)
        except ValidationError as problem:
            self.add_error("password", problem)
        return data
