"""A person's own account: name, password, mail."""

from __future__ import annotations

from typing import Any

from django import forms

from reviews.forms.second_step import NowForm
from reviews.forms.sign_in import NameForm, NewPasswordForm
from reviews.forms.where import ZoneField
from reviews.models import Person
from reviews.pages.wording.names import MAIL_WORDS
from reviews.rules.mailing import MailChoice


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


class OwnZoneForm(forms.Form):
    """By which clock plain times are read."""

    zone = ZoneField(
        "Your time zone",
        required=False,
        help_text="Begin to type a city in it. Empty: times are told where each book is counted.",
    )


class OwnPasswordForm(NowForm, NewPasswordForm):
    """The old password first, so that an unlocked screen is not enough."""

    field_order = ("now", "password", "again")

    def __init__(self, person: Person, *args: Any, **kwargs: Any) -> None:
        super().__init__(person, *args, likeness=person, **kwargs)
        self.fields["password"].label = "New password"
        self.fields["again"].label = "The new password again"
