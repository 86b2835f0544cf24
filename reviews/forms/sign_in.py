"""Signing in, the two ways in which an account begins, and a password chosen anew."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.contrib.auth import password_validation
from django.contrib.auth.forms import AuthenticationForm
from django.core.exceptions import ValidationError

from reviews.models import Person


class SignInForm(AuthenticationForm):
    """E-mail and password; the field keeps Django's name, by which failed attempts are counted."""

    error_messages = {
        "invalid_login": "Address and password do not match an account here. Check both; small and capital letters "
        "of the password count.",
        "inactive": "This account is closed. Ask whoever runs this Roughproof.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "E-mail address"
        self.fields["username"].widget = forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True})
        self.fields["password"].label = "Password"

    def clean_username(self) -> str:
        # Attempts are counted by the address as typed: written another way it would count anew.
        return self.cleaned_data["username"].strip().lower()


class NameForm(forms.Form):
    """All that a guest of the cover meeting is asked."""

    name = forms.CharField(
        label="Your name",
        max_length=120,
        help_text="As the others should read it.",
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )


class AddressForm(forms.Form):
    """The address of somebody who forgot the password."""

    email = forms.EmailField(
        label="E-mail address",
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True}),
        error_messages={"invalid": "That is no mail address. It looks like name@publisher.example."},
    )


class NewPasswordForm(forms.Form):
    """A new password, given twice because nobody here can read it back; ``likeness`` is whom it must not resemble."""

    password = forms.CharField(
        label="Password",
        strip=False,
        help_text="At least 10 characters. A short sentence is easy to keep in mind.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label="The same password again", strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )

    def __init__(self, *args: Any, likeness: Person | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.likeness = likeness

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        password = data.get("password")
        if not password:
            return data
        if data.get("again") and password != data["again"]:
            self.add_error("again", "The two passwords differ. Type the same one twice.")
        try:
            password_validation.validate_password(password, self.whose(data))
        except ValidationError as problem:
            self.add_error("password", problem)
        return data

    def whose(self, data: Mapping[str, Any]) -> Person | None:
        """Say whose password it will be."""
        return self.likeness


class AccountForm(NewPasswordForm, NameForm):
    """A name and a password for a new account."""

    field_order: tuple[str, ...] = ("name", "password", "again")

    def __init__(self, *args: Any, email: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._address = email

    def whose(self, data: Mapping[str, Any]) -> Person:
        return Person(email=data.get("email") or self._address, name=data.get("name") or "")


class FirstAccountForm(AccountForm):
    """The account of whoever sets the portal up."""

    email = forms.EmailField(
        label="Your e-mail address",
        max_length=254,
        help_text="You sign in with it, and mails about your books go there.",
        widget=forms.EmailInput(attrs={"autocomplete": "username"}),
    )
    field_order = ("name", "email", "password", "again")
