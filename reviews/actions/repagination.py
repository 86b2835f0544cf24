"""Pieces of art change places in the book, with everything that hangs on them."""

from __future__ import annotations

from collections.abc import Mapping

from django.db.models import F

from reviews.actions._deed import Act, deed_on
from reviews.models import Seat, Spread
from reviews.rules.moving_payloads import MovedSpread, MoveSpreadsData
from reviews.rules.repagination import Moving, Placed, Slot, rearranged
from reviews.rules.states import Deed, Refused

# Each position and page may stand only once at any moment: places are emptied first.
_ASIDE = 1000
MOST_WORDS = 300


def move_spread(spread_id: int, to_id: int, moving: Moving, reason: str, *, actor: Seat) -> dict[int, Slot]:
    """Let two pieces change places, or one go to the place of another; both sides are told the old and new numbers.

    Art, notes, versions, dates and approvals go along: nothing of them is touched, and nothing about them is counted
    anew.
    """
    with deed_on(Spread, spread_id, Deed.MOVE_SPREADS, actor) as act:
        said = reason.strip()[:MOST_WORDS]
        if not said:
            raise Refused("move-needs-reason")
        live = list(Spread.objects.filter(book=act.book, removed_at=None).order_by("position"))
        placed = [
            Placed(row.pk, row.kind, Slot(row.position, row.label, row.first_page, row.last_page)) for row in live
        ]
        slots = rearranged(placed, spread_id, to_id, moving)
        were = {row.pk: row.label for row in live}
        _place(slots, act)
        moved = sorted(slots.items(), key=lambda pair: pair[1].position)
        told = [
            MovedSpread(
                spread=pk,
                was=were[pk],
                label=slot.label,
                pages=[slot.first_page, slot.last_page],
                position=slot.position,
            )
            for pk, slot in moved
        ]
        act.record(MoveSpreadsData(placed=told, reason=said))
    return slots


def _place(slots: Mapping[int, Slot], act: Act) -> None:
    rows = Spread.objects.filter(pk__in=list(slots))
    rows.update(position=F("position") + _ASIDE, first_page=F("first_page") + _ASIDE, last_page=F("last_page") + _ASIDE)
    for row in rows:
        slot = slots[row.pk]
        row.position, row.label = slot.position, slot.label
        row.first_page, row.last_page = slot.first_page, slot.last_page
        row.save(update_fields=["position", "label", "first_page", "last_page"])
        act.holds(row)
