"""Make and revoke a person's calendar link. Personal, so no book's ledger tells of it."""

from __future__ import annotations

import secrets

from django.db import transaction
from django.utils import timezone

from reviews.models import CalendarLink, Person

_SEED_BYTES = 32


def make_calendar_link(person: Person) -> CalendarLink:
    """Make a new secret address; one that was there stops working at once."""
    with transaction.atomic(durable=True):
        # The person's row is locked, so that two clicks do not leave two live links.
        Person.objects.select_for_update().get(pk=person.pk)
        _revoke(person)
        return CalendarLink.objects.create(
            person=person, seed=secrets.token_urlsafe(_SEED_BYTES), made_at=timezone.now()
        )


def revoke_calendar_link(person: Person) -> bool:
    """Take the address back; say whether there was one."""
    with transaction.atomic(durable=True):
        return bool(_revoke(person))


def _revoke(person: Person) -> int:
    return CalendarLink.objects.filter(person=person, revoked_at=None).update(revoked_at=timezone.now())
