"""Looks at the stored pictures: begun once a night, what they found, and what nobody owns cleared away."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.db import transaction

from reviews import jobs, storage
from reviews.actions._originals import hold_original
from reviews.models import StoreCheck
from reviews.queries.store_checks import next_shard
from reviews.queries.stored import PAPERS, content_of, is_half_arrived, is_owned, last_written

#: So many faults are named in the row; all are counted.
NAMED = 100


def begin_night(night: date, now: datetime) -> bool:
    """Ask for the night's share, once however many ask; say whether it was asked for now."""
    with transaction.atomic():
        check, is_new = StoreCheck.objects.get_or_create(
            night=night, defaults={"begun_at": now, "first_shard": next_shard()}
        )
        if is_new:
            jobs.enqueue(jobs.STORE_CHECK, check.pk)
    return is_new


def begin_by_hand(now: datetime) -> StoreCheck:
    """Begin a look at everything, asked for by whoever runs the portal."""
    return StoreCheck.objects.create(begun_at=now, first_shard=0)


def end_check(check_id: int, now: datetime, *, end_shard: int, counts: dict[str, int], faults: Sequence[Any]) -> None:
    """Write down how far a look came and what it found. The same look again replaces what it found before."""
    StoreCheck.objects.filter(pk=check_id).update(
        finished_at=now, end_shard=end_shard, faults=list(faults[:NAMED]), **counts
    )


def clear_nobodys(name: str, *, older_than: datetime) -> bool:
    """Remove a stored file that no row names and that is old; say whether it went.

    Asked again under the lock that whoever keeps a picture takes before naming it: an upload of the same content at
    this moment either comes first, and its row is seen here, or finds the file gone and keeps it anew. A letter's PDF
    is never removed.
    """
    if name.startswith(f"{PAPERS}/") and not is_half_arrived(name):
        return False
    with transaction.atomic():
        hold_original(content_of(name))
        is_half = is_half_arrived(name)
        if (is_owned(name) and not is_half) or last_written(name) >= older_than:
            return False
        storage.remove(name)
    return True
