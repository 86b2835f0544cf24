"""One mail on its way: what it says, and how it is put together for the wire."""

from __future__ import annotations

from dataclasses import dataclass
from email.message import EmailMessage as WireMessage
from email.policy import EmailPolicy
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.template.loader import render_to_string
from django.urls import reverse

from reviews.models import Person


@dataclass(frozen=True, kw_only=True)
class Mail:
    """What one person is told. ``inlines`` are JPEGs by content id, ``papers`` PDFs by file name.

    ``stop`` is the address at which this person's mail is stopped; a mail program shows it beside the sender.
    """

    to: str
    subject: str
    text: str
    html: str
    message_id: str
    inlines: tuple[tuple[str, bytes], ...] = ()
    papers: tuple[tuple[str, bytes], ...] = ()
    stop: str = ""


def link(name: str, *args: object) -> str:
    """Write an address of the portal as it can be opened from a mail."""
    return settings.PUBLIC_ADDRESS + reverse(f"reviews:{name}", args=args)


def stop_link(person: Person) -> str:
    """Write the address at which a person stops their mail without signing in."""
    return link("stop-mail", person.stop_secret)


def message_id(what: str) -> str:
    """Make the id of a mail from what caused it, so that a mail sent twice shows as one."""
    host = urlsplit(settings.PUBLIC_ADDRESS).hostname or "localhost"
    return f"<{what}@{host}>"


def written(template: str, context: dict[str, Any]) -> tuple[str, str]:
    """Write a mail's text and HTML from the two templates of that name."""
    text = render_to_string(f"reviews/mail/{template}.txt", context)
    return text.strip() + "\n", render_to_string(f"reviews/mail/{template}.html", context)


class _WholeAddresses(EmailPolicy):
    """The usual policy, but an address in a header stays whole: folded or encoded, no mail program could open it."""

    def fold(self, name: str, value: Any) -> str:
        return f"{name}: {value}{self.linesep}" if name == _STOP_HEADER else super().fold(name, value)

    def fold_binary(self, name: str, value: Any) -> bytes:
        return self.fold(name, value).encode() if name == _STOP_HEADER else super().fold_binary(name, value)


_STOP_HEADER = "List-Unsubscribe"
_ON_THE_WIRE = _WholeAddresses(linesep="\r\n")


class _OnTheWire(WireMessage):
    """The standard library's message, with the one call Django's mail backends make of their own kind."""

    def as_bytes(  # type: ignore[override]  # one argument more, as Django's backends call it
        self, unixfrom: bool = False, linesep: str | None = None, policy: Any = None
    ) -> bytes:
        chosen = policy or self.policy
        return super().as_bytes(unixfrom, chosen.clone(linesep=linesep) if linesep else chosen)


class _Sent(EmailMessage):
    """A Django mail whose parts are nested as readers expect: words, their pictures, then papers."""

    def __init__(self, mail: Mail) -> None:
        super().__init__(subject=mail.subject, body=mail.text, to=[mail.to])
        self.mail = mail

    def message(self) -> Any:  # type: ignore[override]  # the stubs tell of a later Django
        mail, wire = self.mail, _OnTheWire(policy=_ON_THE_WIRE)
        wire["Subject"] = " ".join(mail.subject.split())
        wire["From"] = settings.DEFAULT_FROM_EMAIL
        wire["To"] = mail.to
        wire["Message-ID"] = mail.message_id
        wire["Auto-Submitted"] = "auto-generated"
        if mail.stop:
            wire[_STOP_HEADER] = f"<{mail.stop}>"
        wire.set_content(mail.text)
        wire.add_alternative(mail.html, subtype="html")
        page: Any = wire.get_payload(1)
        for content_id, jpeg in mail.inlines:
            page.add_related(jpeg, "image", "jpeg", cid=f"<{content_id}>", disposition="inline")
        for name, pdf in mail.papers:
            wire.add_attachment(pdf, "application", "pdf", filename=name)
        return wire


def send(mail: Mail) -> None:
    """Hand a mail to whatever carries it; raises where it could not be handed over."""
    get_connection().send_messages([_Sent(mail)])
