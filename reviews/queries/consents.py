"""Whose consent to rounds beyond the fee is waited for."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Exists, OuterRef, Q

from reviews.models import OverConsent, Seat
from reviews.rules.states import Role


def consents_waiting_on(seats: Sequence[Seat]) -> list[OverConsent]:
    """List what these seats are asked to consent to (1 query, none for the publisher's side).

    The agent speaks on rounds beyond the fee, and the illustrator where no agent sits.
    """
    agents = [seat.book_id for seat in seats if seat.role == Role.AGENT]
    illustrators = [seat.book_id for seat in seats if seat.role == Role.ILLUSTRATOR]
    if not agents and not illustrators:
        return []
    has_agent = Exists(Seat.objects.filter(book=OuterRef("passage__book"), role=Role.AGENT, ended_at=None))
    theirs = Q(passage__book__in=agents) | (Q(passage__book__in=illustrators) & ~has_agent)
    return list(
        OverConsent.objects.select_related("passage__book", "passage__spread", "passage__stage", "asked_by__person")
        .filter(theirs, given_at=None)
        .open()
        .order_by("asked_at")
    )
