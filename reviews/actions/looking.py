"""That somebody has a table open: no deed of the ledger, and over as soon as they look away."""

from __future__ import annotations

from collections.abc import Collection
from datetime import timedelta

from reviews.actions.clock import moment
from reviews.models import Looking, Passage, Seat

#: How exactly it is known; a page that asks oftener writes nothing.
_WITHIN = timedelta(seconds=20)


def looks_on(passage: Passage, known: Collection[Looking], *, actor: Seat) -> None:
    """Remember that a seat has a table open (1 query, and none within 20 seconds); ``known``: who has it open."""
    now = moment()
    if any(row.seat_id == actor.pk and now - row.seen_at < _WITHIN for row in known):
        return
    Looking.objects.bulk_create(
        [Looking(seat=actor, passage=passage, seen_at=now)],
        update_conflicts=True,
        unique_fields=["seat", "passage"],
        update_fields=["seen_at"],
    )
