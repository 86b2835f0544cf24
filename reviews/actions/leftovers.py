"""Rows that have served: ended sessions, who looks at what, old sign-in attempts, finished work.

Nothing of a book is among them.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import QuerySet

from reviews.models import Attempt, Job, LiveSession, Looking, StoreCheck
from reviews.models.jobs import JobState
from reviews.rules.attempts import USUAL_FOR

# Long enough to look into what happened last month; work that failed stays until somebody has dealt with it.
KEPT = timedelta(days=30)
CHECKS_KEPT = timedelta(days=400)
_AT_ONCE = 500


def clear_old_rows(now: datetime) -> int:
    """Delete what is over; say how many rows went. In small steps, so that nobody waits for the table."""
    old = now - KEPT
    return sum(
        _delete_in_steps(rows)
        for rows in (
            LiveSession.objects.filter(expire_date__lt=now),
            Looking.objects.filter(seen_at__lt=now - timedelta(days=1)),
            # A try that succeeded tells for a while which place a person usually comes from.
            Attempt.objects.filter(at__lt=now - USUAL_FOR),
            Attempt.objects.filter(succeeded=False, at__lt=old),
            Job.objects.filter(state=JobState.DONE, finished_at__lt=old),
            StoreCheck.objects.filter(begun_at__lt=now - CHECKS_KEPT),
        )
    )


def _delete_in_steps(rows: QuerySet) -> int:
    n_gone = 0
    while some := list(rows.order_by("pk").values_list("pk", flat=True)[:_AT_ONCE]):
        n_gone += len(some)
        rows.model._default_manager.filter(pk__in=some).delete()
    return n_gone
