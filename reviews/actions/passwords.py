"""A forgotten password: a link by mail, used once. Personal, so no book's ledger tells of it."""

from __future__ import annotations

from django.contrib.auth.tokens import default_token_generator
from django.db import transaction
from django.utils.encoding import force_str
from django.utils.http import urlsafe_base64_decode, urlsafe_base64_encode

from reviews import jobs
from reviews.actions.clock import moment
from reviews.actions.jobs import begin_work_again
from reviews.actions.sessions import end_sessions
from reviews.models import Person
from reviews.rules.states import Refused

_QUARTER_HOUR = 15 * 60


def ask_for_password_link(email: str) -> None:
    """Have a link sent to whoever signs in with this address; at most one in a quarter of an hour.

    Nothing is told to the asker: whether an address has an account here is nobody else's affair. Who came by
    an invitation's link alone has no password to forget.
    """
    with transaction.atomic(durable=True):
        person = Person.objects.filter(email=email.strip().lower(), is_active=True).first()
        if person is not None and person.has_usable_password():
            quarter = int(moment().timestamp()) // _QUARTER_HOUR
            job = jobs.enqueue(jobs.PASSWORD_LINK, person.pk, key=f"{jobs.PASSWORD_LINK}:{person.pk}:{quarter}")
            if job.error:
                # It has not left: whoever asks again is not to wait for the end of a pause, or for the next quarter.
                begin_work_again(jobs.PASSWORD_LINK, person.pk, only_given_up=False)


def password_secret(person: Person) -> str:
    """Make the secret part of the link. It ends with the password it replaces, the next sign-in, or its day."""
    return f"{urlsafe_base64_encode(str(person.pk).encode())}-{default_token_generator.make_token(person)}"


def person_of_link(secret: str) -> Person:
    """Find whose password a link may set.

    Raises:
        Refused: "password-link-ended" where it was used, ran out, or never was one.
    """
    encoded, _, token = secret.partition("-")
    try:
        person = Person.objects.get(pk=int(force_str(urlsafe_base64_decode(encoded))), is_active=True)
    except (ValueError, OverflowError, Person.DoesNotExist) as nobody:
        raise Refused("password-link-ended") from nobody
    if not default_token_generator.check_token(person, token):
        raise Refused("password-link-ended")
    return person


def set_password_by_link(secret: str, password: str) -> Person:
    """Set a new password; the link ends with it, and every place where the person is signed in asks anew."""
    with transaction.atomic(durable=True):
        person = Person.objects.select_for_update().get(pk=person_of_link(secret).pk)
        # Twice at once: the second finds the first's password, and its link ended.
        person_of_link(secret)
        person.set_password(password)
        person.save(update_fields=["password"])
        end_sessions(person)
    return person
