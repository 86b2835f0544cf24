"""Printers' sheets as far as they were looked at: where the trim is on them, by box or marks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Q, QuerySet

from reviews.models import Picture
from reviews.press.flats import Flat
from reviews.press.placing import PlacedPicture
from reviews.press.proof_sheet import SHEET_METHOD, NotLaid, SheetFound, TrimFound, lay_sheet
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import HandInState, PictureState

#: Where among a picture's facts stands what was found.
SHEET = "sheet"


def lay_printers(picture: Picture, flats: Sequence[Flat]) -> PlacedPicture | NotLaid:
    """Lay what a printer made by what was found on it (no query); needs its size to be known."""
    if not was_looked_at(picture):
        return NotLaid.NOT_READ if SHEET in picture.facts else NotLaid.NOT_LOOKED
    return lay_sheet(_found(picture.facts[SHEET]), flats, picture.width_px or 1, picture.height_px or 1)


def was_looked_at(picture: Picture) -> bool:
    """Say whether its box and marks were looked for, and could be."""
    return "marks" in picture.facts.get(SHEET, {})


def _found(stored: dict[str, Any]) -> SheetFound:
    box = stored["box"]
    return SheetFound(
        box=TrimFound(**box) if box else None,
        marks=tuple(TrimFound(**one) for one in stored["marks"]),
    )


def is_from_printer(picture_id: int) -> bool:
    """Say whether a picture was handed in at a stage that the printer makes (1 query)."""
    return Picture.objects.filter(pk=picture_id, hand_in__passage__stage__kind__in=list(PRINTERS_STAGES)).exists()


def sheets_not_looked_at() -> QuerySet[Picture]:
    """List what printers made and nobody looked at by the present method: what was read before that was done."""
    rows = Picture.objects.filter(
        state=PictureState.READY, removed_at=None, hand_in__passage__stage__kind__in=list(PRINTERS_STAGES)
    )
    # A key that is not there compares as unknown, so it is asked for on its own.
    is_other = Q(facts__has_key=SHEET) & ~Q(facts__sheet__method=SHEET_METHOD)
    return rows.filter(~Q(facts__has_key=SHEET) | is_other).exclude(hand_in__state=HandInState.WITHDRAWN)
