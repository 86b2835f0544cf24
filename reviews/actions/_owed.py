"""Owe somebody a notice: the one place where a notice begins."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from reviews import jobs
from reviews.models import Digest, LedgerEntry, Notice, Person
from reviews.queries.reminders import Due
from reviews.rules.mailing import MailChoice, NoticeKind


def owe_entry(entry: LedgerEntry, person: Person) -> None:
    """Owe one person word of what happened: in a mail of its own, or with the day's.

    Runs in the deed's own transaction, so nothing is told that did not happen and nothing is forgotten that did.
    """
    if person.mail == MailChoice.NONE:
        return
    waits = person.mail == MailChoice.DAILY
    notice = Notice.objects.create(
        entry=entry, person=person, kind=NoticeKind.HAPPENED, cause=f"entry:{entry.pk}", waits=waits
    )
    if not waits:
        jobs.enqueue(jobs.MAIL, notice.pk)


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
                "words": one.words,
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
