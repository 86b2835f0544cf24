"""Tries at a password or a code: written down before they are judged, so that many at once are all counted."""

from __future__ import annotations

from datetime import timedelta

from django.db import transaction
from django.db.models import Q
from django.utils.crypto import salted_hmac

from reviews.actions.clock import moment
from reviews.models import Attempt
from reviews.rules.attempts import REST, USUAL_FOR, Trying, WrongTries, counted_address, rests

_KEPT_WHEN_WRONG = timedelta(days=1)


def name_of(email: str) -> str:
    """Give the word that tries at a person's account are counted by; from it nobody learns what was typed."""
    return salted_hmac("roughproof.attempt", email.strip().lower(), algorithm="sha256").hexdigest()


def begin_attempt(kind: Trying, email: str, *, address: str, place: str = "") -> Attempt | None:
    """Write down a try that is about to be judged; None where trying rests, and then nothing is judged.

    ``place`` names the browser where it was recognised as one of this person's own.
    """
    who, counted, now = name_of(email), counted_address(address), moment()
    with transaction.atomic(durable=True):
        _forget_old()
        made = Attempt.objects.create(kind=kind, who=who, address=counted, place=place, at=now)
        wrong = Attempt.objects.filter(kind=kind, succeeded=False, at__gt=now - REST, pk__lt=made.pk)
        here = Q(who=who, place=place) if place else Q(who=who, place="", address=counted)
        tries = WrongTries(
            from_here=wrong.filter(here).count(),
            by_strangers=wrong.filter(who=who, place="").count(),
            from_address=wrong.filter(address=counted, place="").count(),
        )
        usual = Attempt.objects.filter(who=who, address=counted, succeeded=True, at__gt=now - USUAL_FOR).exists()
        if not rests(tries, usual=usual, recognised=bool(place)):
            return made
        # What rests is not counted on: else a stranger who never stops would keep it resting for ever.
        made.delete()
    return None


def attempt_succeeded(attempt: Attempt) -> None:
    """Write down that it was right; the wrong ones before it from the same place are forgiven."""
    with transaction.atomic(durable=True):
        wrong = Attempt.objects.filter(kind=attempt.kind, who=attempt.who, place=attempt.place, succeeded=False)
        wrong.filter(address=attempt.address).exclude(pk=attempt.pk).delete()
        attempt.succeeded = True
        attempt.save(update_fields=["succeeded"])


def _forget_old() -> None:
    now = moment()
    Attempt.objects.filter(at__lt=now - USUAL_FOR).delete()
    Attempt.objects.filter(succeeded=False, at__lt=now - _KEPT_WHEN_WRONG).delete()
