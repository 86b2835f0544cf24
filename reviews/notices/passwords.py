"""The mail that carries the link to a new password."""

from __future__ import annotations

import hashlib

from django.conf import settings

from reviews.models import Person
from reviews.notices.mail import Mail, link, message_id, written


def password_mail(person: Person, secret: str) -> Mail:
    """Write the mail of one link."""
    context = {
        "person": person,
        "address": link("new-password", secret),
        "hours": settings.PASSWORD_RESET_TIMEOUT // 3600,
    }
    text, html = written("password", context)
    told = hashlib.sha256(secret.encode()).hexdigest()[:16]
    return Mail(
        to=person.email,
        subject="A new password for Roughproof",
        text=text,
        html=html,
        message_id=message_id(f"password-{person.pk}-{told}"),
    )
