"""The person whose mail a stop link stops."""

from __future__ import annotations

from django.utils.crypto import constant_time_compare

from reviews.models import Person
from reviews.queries.access import NotThere


def person_of_stop_link(secret: str) -> Person:
    """Find whom a stop link belongs to, or say that there is nothing (1 query)."""
    number = secret.partition("-")[0]
    known = number.isascii() and number.isdecimal() and len(number) < 19
    person = Person.objects.filter(pk=int(number)).first() if known else None
    if person is None or not constant_time_compare(secret, person.stop_secret):
        raise NotThere
    return person
