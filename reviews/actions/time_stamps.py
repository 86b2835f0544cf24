"""Keep what a time stamp service said. No deed of anyone's: it is said of an entry and changes nothing in the book."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from reviews.actions.jobs import Claim, settle_job
from reviews.models import TimeStamp


def keep_time_stamp(claim: Claim, *, answer: bytes, at: datetime, service: str) -> None:
    """Keep one entry's time stamp and end its job in the same step; the first one stays."""
    with transaction.atomic():
        TimeStamp.objects.get_or_create(
            entry_id=claim.subject_id, defaults={"answer": answer, "at": at, "service": service[:300]}
        )
        settle_job(claim)
