"""Many people invited in one field: a line or a comma parts them, each with an address, perhaps a name and a part."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from reviews.actions.invitees import Invitee
from reviews.pages.wording.names import ROLE_WORDS
from reviews.rules.states import Role

MOST_PEOPLE = 30
#: What parts people on one line: commas and semicolons, but those inside quotes and angle brackets.
_PARTED = re.compile(r'"[^"]*"|<[^<>]*>|[,;]|[^"<,;]+|["<]')
_ANGLED = re.compile(r'\s*"?(?P<name>[^"<>]*?)"?\s*<(?P<email>[^<>]*)>(?P<part>.*)', re.DOTALL)


@dataclass(frozen=True)
class WrongLine:
    """What is wrong with one person's words."""

    words: str
    why: str


class InviteesForm(forms.Form):
    """Whom to invite, all in one field, and which part those have who name none."""

    people = forms.CharField(
        label="Who",
        max_length=10_000,
        widget=forms.Textarea(attrs={"rows": 4, "autocomplete": "off", "spellcheck": "false"}),
        help_text="A line each: Name <address> part. The address alone will do where a part is chosen below.",
    )
    part = forms.ChoiceField(
        label="Part of those who name none", choices=[(r.value, w) for r, w in ROLE_WORDS.items()], required=False
    )

    def __init__(self, *args: Any, roles: Collection[Role], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.parts = {role: str(words) for role, words in ROLE_WORDS.items() if role in roles and role != Role.GUEST}
        part = self.fields["part"]
        assert isinstance(part, forms.ChoiceField)
        offered = [(role.value, capfirst(words)) for role, words in self.parts.items()]
        # Nobody gets a part by not being looked at: the first of the list sends letters.
        part.choices = offered if len(offered) == 1 else [("", _("Each line names its own")), *offered]
        self.lines: list[str] = []
        self.wrong: list[WrongLine] = []

    def invitees(self) -> list[Invitee]:
        """Read everybody; what could not be read is in ``wrong`` then, each with its reason."""
        self.lines = _people(self.cleaned_data["people"], self._role)
        otherwise = Role(self.cleaned_data["part"]) if self.cleaned_data["part"] else None
        if len(self.lines) > MOST_PEOPLE:
            self.add_error("people", _("Invite at most {most} people at a time.").format(most=MOST_PEOPLE))
            return []
        if not self.lines:
            self.add_error("people", _("There is no e-mail address in it."))
        read = [self._read(words, otherwise) for words in self.lines]
        self.wrong = [one for one in read if isinstance(one, WrongLine)]
        return [one for one in read if isinstance(one, Invitee)]

    def refuse(self, why: Mapping[int, str]) -> None:
        """Take what the deed said against some of them, by their place."""
        self.wrong = [WrongLine(self.lines[n], words) for n, words in sorted(why.items())]

    def _read(self, words: str, otherwise: Role | None) -> Invitee | WrongLine:
        name, email, said = _parted(words)
        if not email:
            return WrongLine(words, _("There is no e-mail address in it."))
        try:
            validate_email(email)
        except ValidationError:
            return WrongLine(words, _("“{email}” is not an e-mail address.").format(email=email))
        if len(email) > 254 or len(name) > 120:
            return WrongLine(words, _("The name or the address is too long."))
        role = self._role(said) if said else otherwise
        if role is None and not said:
            return WrongLine(words, _("It names no part. Write one behind the address, or choose one below."))
        if role is None:
            offered = ", ".join(self.parts.values())
            why = _("“{part}” is no part you can give. There is: {offered}.")
            return WrongLine(words, why.format(part=said, offered=offered))
        return Invitee(email=email, name=name or _name_in(email), role=role)

    def _role(self, said: str) -> Role | None:
        plain = " ".join(re.sub(r"[-_()]", " ", said).split()).casefold()
        return next((role for role, words in self.parts.items() if plain in (words.casefold(), role.value)), None)


def _people(text: str, as_role: Callable[[str], Role | None]) -> list[str]:
    """Part the field at lines, commas and semicolons; what is only a part belongs to whoever stands before it."""
    people: list[str] = []
    for line in text.replace("\r", "").split("\n"):
        here: list[str] = [""]
        for piece in _PARTED.findall(line):
            if piece in (",", ";"):
                here.append("")
            else:
                here[-1] += piece
        of_line: list[str] = []
        for words in filter(None, (" ".join(one.split()) for one in here)):
            if of_line and as_role(words) is not None:
                of_line[-1] += f" {words}"
            else:
                of_line.append(words)
        people += of_line
    return people


def _parted(words: str) -> tuple[str, str, str]:
    """Part one person's words into name, address and part; no address where none can be told."""
    if found := _ANGLED.fullmatch(words):
        return found["name"].strip(), found["email"].strip().lower(), _said(found["part"])
    tokens = words.split()
    at = next((n for n, token in enumerate(tokens) if "@" in token), None)
    if at is None:
        return "", "", ""
    return " ".join(tokens[:at]).strip(' ":'), tokens[at].strip(":()").lower(), _said(" ".join(tokens[at + 1 :]))


def _name_in(email: str) -> str:
    """Make a name of an address: both sides and the ledger read names, and an address is for the own side alone."""
    local = email.partition("@")[0].partition("+")[0]
    words = re.sub(r"[\W\d_]+", " ", local).split()
    return " ".join(map(capfirst, words)) or local


def _said(part: str) -> str:
    return part.strip(" :–—-()")


def as_parts(people: Sequence[Invitee]) -> str:
    """Name people with their parts, for a sentence."""
    return ", ".join(f"{one.name} ({ROLE_WORDS[one.role]})" for one in people)
