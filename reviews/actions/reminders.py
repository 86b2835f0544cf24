"""Put a person's morning mail together, and say at once what cannot be met any more.

None of this changes a book: what is owed are notices, each unique by its cause, so that a run that died can be made
again and two runs at the same time tell nobody twice.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db import transaction
from django.db.models import CharField, F, Q, Value
from django.db.models.functions import Cast, Concat
from django.utils import timezone

from reviews.actions._outbox import gather_waiting, owe_dates
from reviews.actions.jobs import Claim, settle_job
from reviews.models import Digest, Notice, Person
from reviews.queries.reminders import Due
from reviews.rules.mailing import MailChoice, NoticeKind

_SAID = "cannot-meet:"
_OVER = "/over-"


def begin_morning(person_id: int, day: date, dues: Iterable[Due]) -> bool:
    """Owe a person what falls due, and gather all that waits into one mail; say whether there is one.

    The day is claimed first: of two sweeps only one goes on, and if it dies the claim is gone with it.
    """
    with transaction.atomic():
        fresh = Q(reminded_on=None) | Q(reminded_on__lt=day)
        mine = Person.objects.filter(fresh, pk=person_id).exclude(mail=MailChoice.NONE).update(reminded_on=day)
        if not mine:
            return False
        owe_dates(person_id, dues)
        return gather_waiting(person_id, key=f"day:{day.isoformat()}", day=day, now=timezone.now())


def say_at_once(person: Person, day: date, dues: Iterable[Due]) -> bool:
    """Tell a person today what cannot be met any more, unless they chose one mail a day: then it waits for it."""
    with transaction.atomic():
        fresh = owe_dates(person.pk, dues)
        if not fresh or person.mail != MailChoice.AT_ONCE:
            return False
        return gather_waiting(person.pk, key=f"said:{fresh[0].pk}", day=day, now=timezone.now(), only=fresh)


def close_what_can_be_met(book_id: int, still: Iterable[str]) -> int:
    """Let go of the causes that hold no longer, so that the same date is told again if it gets out of reach again."""
    said = Notice.objects.filter(book_id=book_id, kind=NoticeKind.CANNOT_MEET, cause__startswith=_SAID)
    over = said.exclude(cause__in=list(still)).exclude(cause__contains=_OVER)
    return over.update(cause=Concat(F("cause"), Value(_OVER), Cast("pk", CharField())))


def digest_sent(digest_id: int, claim: Claim) -> None:
    """Note that a digest was mailed, with all its notices, and end its job in the same step."""
    with transaction.atomic():
        now = timezone.now()
        Digest.objects.filter(pk=digest_id, sent_at=None).update(sent_at=now)
        Notice.objects.filter(digest_id=digest_id, sent_at=None).update(sent_at=now)
        settle_job(claim)
