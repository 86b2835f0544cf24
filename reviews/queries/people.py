"""Who has an account here."""

from __future__ import annotations

from collections.abc import Iterable

from reviews.models import Person, Seat
from reviews.rules.states import Role


def nobody_yet() -> bool:
    """Say whether the portal still waits for its first account (1 query)."""
    return not Person.objects.exists()


def has_account(email: str) -> bool:
    """Say whether somebody can sign in with this address; a guest's seat alone needs no password (1 query)."""
    person = Person.objects.filter(email=email.strip().lower()).first()
    return person is not None and person.has_usable_password()


def may_set_up_books(person: Person, seats: Iterable[Seat]) -> bool:
    """Say whether somebody is more than a guest: a link to one cover meeting opens nothing else (no query).

    A guest whose seat has ended has no seat at all, and is no more than a guest for that.
    """
    return person.has_usable_password() or any(seat.role != Role.GUEST for seat in seats)
