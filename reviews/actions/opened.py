"""That a hand-in was opened on the table: no deed of the ledger, but what "approve all" asks about."""

from __future__ import annotations

from reviews.actions.clock import moment
from reviews.models import HandIn, OpenedTable, Seat
from reviews.rules import permits
from reviews.rules.states import Role


def table_opened(hand_in: HandIn | None, *, actor: Seat) -> None:
    """Remember that the publisher's side had a hand-in open (1 query the first time; asks where it is not known)."""
    if hand_in is None or not permits.sees(Role(actor.role), "unsent-notes"):
        return
    known = getattr(hand_in, "lay_open", None)
    if not (OpenedTable.objects.filter(hand_in=hand_in, seat=actor).exists() if known is None else known):
        # Two tabs at once: the constraint lets one of them through.
        OpenedTable.objects.bulk_create([OpenedTable(hand_in=hand_in, seat=actor, at=moment())], ignore_conflicts=True)
