"""Who has an account here."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils import timezone
from django.utils.crypto import constant_time_compare

from reviews.models import LiveSession, Person, RecoveryCode, Seat, SecondStep
from reviews.rules.states import Role


def nobody_yet() -> bool:
    """Say whether the portal still waits for its first account (1 query)."""
    return not Person.objects.exists()


def has_account(email: str) -> bool:
    """Say whether somebody can sign in with this address; a guest's seat alone needs no password (1 query)."""
    person = Person.objects.filter(email=email.strip().lower()).first()
    return person is not None and person.has_usable_password()


def number_of(email: str) -> int | None:
    """Give the number of the account with this address, if there is one (1 query)."""
    return Person.objects.filter(email=email.strip().lower()).values_list("pk", flat=True).first()


def person_still_the_same(number: int, password_mark: str) -> Person | None:
    """Find somebody whose password is still the one that the mark was made of (1 query).

    Whoever changed it meanwhile did so to keep this one out.
    """
    person = Person.objects.filter(pk=number, is_active=True).first()
    return person if person and constant_time_compare(person.get_session_auth_hash(), password_mark) else None


def second_step_of(person: Person) -> SecondStep | None:
    """Fetch a person's second step, confirmed or only begun (1 query)."""
    return SecondStep.objects.filter(person=person).first()


def asks_for_second_step(person: Person) -> bool:
    """Say whether a right password alone does not let this person in (1 query)."""
    return SecondStep.objects.filter(person=person).exclude(confirmed_at=None).exists()


def unused_recovery_codes(person: Person) -> int:
    """Count the recovery codes that still work (1 query)."""
    return RecoveryCode.objects.filter(person=person, used_at=None).count()


def sessions_of(person: Person) -> list[LiveSession]:
    """List where a person is signed in, the latest used first (1 query)."""
    live = LiveSession.objects.filter(person=person, expire_date__gt=timezone.now())
    return list(live.order_by("-seen_at"))


def may_set_up_books(person: Person, seats: Iterable[Seat]) -> bool:
    """Say whether somebody is more than a guest: a link to one cover meeting opens nothing else (no query).

    A guest whose seat has ended has no seat at all, and is no more than a guest for that.
    """
    return person.has_usable_password() or any(seat.role != Role.GUEST for seat in seats)
