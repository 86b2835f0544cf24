"""What a person decides about their own account: name, password, mail, clock. It is personal, so no book's ledger tells
of it."""

from __future__ import annotations

from zoneinfo import available_timezones

from django.db import transaction

from reviews.models import Notice, Person
from reviews.rules.mailing import MailChoice


def choose_mail(person: Person, choice: MailChoice) -> None:
    """Choose how to hear of what happens. Who stops all mail is owed nothing of what still waited."""
    with transaction.atomic(durable=True):
        Person.objects.filter(pk=person.pk).update(mail=choice)
        if choice == MailChoice.NONE:
            Notice.objects.filter(person=person, waits=True, digest=None, sent_at=None).delete()
    person.mail = choice


def rename_person(person: Person, name: str) -> None:
    """Change how a person is called from now on; what the ledger says of the past stays as it was said."""
    with transaction.atomic(durable=True):
        Person.objects.filter(pk=person.pk).update(name=name.strip())
    person.name = name.strip()


def choose_zone(person: Person, zone: str) -> None:
    """Choose by which clock plain times are read; empty: by that of each book."""
    with transaction.atomic(durable=True):
        Person.objects.filter(pk=person.pk).update(zone=zone)
    person.zone = zone


def hear_zone(person: Person, zone: str) -> None:
    """Take the zone that a browser tells at the sign-in, where the person has none yet; one that is unknown is not."""
    if zone and not person.zone and zone in available_timezones():
        choose_zone(person, zone)


def change_password(person: Person, password: str) -> None:
    """Set a new password; every other place where the person is signed in asks for it."""
    with transaction.atomic(durable=True):
        person.set_password(password)
        person.save(update_fields=["password"])
