"""Owe somebody a notice: the one place where a notice begins."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.utils import timezone

from reviews import jobs
from reviews.models import Digest, LedgerEntry, Notice, Person
from reviews.queries.reminders import Due
from reviews.rules.mailing import GATHERED_FOR, MANY_AN_HOUR, ON_ITS_OWN, MailChoice, NoticeKind

_GATHERED = "gathered:"
_MARGIN = timedelta(minutes=1)


def owe_entry(entry: LedgerEntry, person: Person) -> None:
    """Owe one person word of what happened: in a mail of its own, or with the day's.

    Runs in the deed's own transaction, so nothing is told that did not happen and nothing is forgotten that did.
    """
    if person.mail == MailChoice.NONE:
        return
    digest = _gathering(entry, person) if _is_many(entry, person) else None
    waits = person.mail == MailChoice.DAILY or digest is not None
    notice = Notice.objects.create(
        entry=entry, person=person, kind=NoticeKind.HAPPENED, cause=f"entry:{entry.pk}", waits=waits, digest=digest
    )
    if not waits:
        jobs.enqueue(jobs.MAIL, notice.pk)


def owe_farewell(entry: LedgerEntry, person: Person) -> None:
    """Owe somebody whose seat ended the way to what they keep: at once and in a mail of its own."""
    if person.mail == MailChoice.NONE:
        return
    notice = Notice.objects.create(
        entry=entry, person=person, kind=NoticeKind.HAPPENED, cause=f"entry:{entry.pk}", waits=False
    )
    jobs.enqueue(jobs.MAIL, notice.pk)


def _is_many(entry: LedgerEntry, person: Person) -> bool:
    """Say whether somebody who hears of things at once was written to so often within the hour that it is enough."""
    if person.mail != MailChoice.AT_ONCE or entry.deed in ON_ITS_OWN:
        return False
    mailed = Notice.objects.filter(person=person, waits=False, entry__isnull=False).order_by("-pk")
    last = list(mailed.values_list("entry__at", flat=True)[:MANY_AN_HOUR])
    return len(last) == MANY_AN_HOUR and last[-1] > entry.at - timedelta(hours=1)


def _gathering(entry: LedgerEntry, person: Person) -> Digest:
    """Find the mail that gathers what happens now, or begin one; nothing joins it when its job may have begun."""
    now = timezone.now()
    open_ones = Digest.objects.filter(person=person, key__startswith=_GATHERED, sent_at=None)
    joinable = open_ones.filter(made_at__gt=now - GATHERED_FOR + _MARGIN).order_by("-pk").first()
    if joinable is not None:
        return joinable
    day = entry.book.day_rule.local_date(now)
    digest = Digest.objects.create(person=person, key=f"{_GATHERED}{entry.pk}", day=day, made_at=now)
    jobs.enqueue(jobs.DIGEST, digest.pk, run_after=now + GATHERED_FOR)
    return digest


def look_ahead(entry: LedgerEntry) -> None:
    """Have it looked at whether the book's dates can still be met: what cannot is said today, not tomorrow."""
    jobs.enqueue(jobs.FORECAST, entry.book_id, key=f"{jobs.FORECAST}:{entry.book_id}:after-{entry.seq}")


def owe_dates(person_id: int, owed: Iterable[Due]) -> list[Notice]:
    """Owe one person what is due; gives the notices that are new, as what was told once is not told again."""
    fresh = []
    for one in owed:
        notice, is_new = Notice.objects.get_or_create(
            person_id=person_id,
            cause=one.cause,
            defaults={
                "kind": one.kind,
                "book_id": one.book_id,
                "passage_id": one.passage_id,
                "told": one.told,
                "waits": True,
            },
        )
        if is_new:
            fresh.append(notice)
    return fresh


def gather_waiting(person_id: int, *, key: str, day: date, now: datetime, only: list[Notice] | None = None) -> bool:
    """Put what waits for a person into one digest and ask for its mail; say whether there was anything."""
    waiting = Notice.objects.filter(person_id=person_id, waits=True, digest=None, sent_at=None)
    if only is not None:
        waiting = waiting.filter(pk__in=[notice.pk for notice in only])
    if not waiting.exists():
        return False
    digest = Digest.objects.create(person_id=person_id, key=key, day=day, made_at=now)
    waiting.update(digest=digest)
    jobs.enqueue(jobs.DIGEST, digest.pk)
    return True
