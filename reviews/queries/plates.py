"""What is known of plates: what they are for, which measurement each needs, and what was measured."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from reviews.models import Passage, Picture, PlateCheck, PlateTold
from reviews.press.finish import FINISH_LIMITS, Finish, FinishLimits, PlateFound, Shift
from reviews.press.placing import PlacedPicture
from reviews.queries.frames import placed_on
from reviews.queries.print_set_ups import print_of
from reviews.rules.states import PictureState

#: Raise the number when the measurement says something else of the same plate.
PLATE_METHOD = "plate-1"


@dataclass(frozen=True)
class PlateAsked:
    """What tells one measurement from another; ``laid`` as ``PlateCheck`` keeps it."""

    sha256: str
    art_sha256: str
    finish: str
    laid: str


@dataclass(frozen=True)
class PlateKnown:
    """What is known of a plate: measured, that it could not be read, or only that a measurement is asked for."""

    found: PlateFound | None
    is_awaited: bool = False


def plates_told(pictures: Sequence[Picture]) -> dict[int, PlateTold]:
    """Find what was told of pictures, by picture (1 query)."""
    rows = PlateTold.objects.filter(picture__in=[picture.pk for picture in pictures])
    joined = ("art__hand_in__passage__stage", "art__hand_in__passage__spread", "told_by__person")
    return {row.picture_id: row for row in rows.select_related(*joined)}


def plate_asked(picture: Picture, passage: Passage, told: PlateTold) -> PlateAsked | None:
    """Name the measurement that a plate needs; None where plate or art is not read, or lies on no piece (no query)."""
    if picture.state != PictureState.READY or told.art.state != PictureState.READY:
        return None
    of_art = told.art.hand_in.passage
    of_art.book = passage.book  # whose print set-up is joined
    placed, art = placed_on(picture, passage), placed_on(told.art, of_art)
    if placed is None or art is None or picture.facts.get("kind") == "PDF":
        return None
    folds = [round(fold, 2) for fold in placed.flat.folds_mm]
    laid: dict[str, Any] = {"plate": _box(placed), "art": _box(art), "folds": folds}
    limits = finish_limits(passage, told)
    if limits != FINISH_LIMITS[finish_of(told)]:  # what was measured by the published figures goes on being found
        laid["limits"] = [round(limits.least_line_mm, 4), round(limits.least_gap_mm, 4)]
    return PlateAsked(picture.sha256, told.art.sha256, told.finish, json.dumps(laid, sort_keys=True))


def finish_limits(passage: Passage, told: PlateTold) -> FinishLimits:
    """Give what a plate is held against in its book; needs the book joined with its print set-up (no query)."""
    return print_of(passage.book).finish_limits(finish_of(told))


def _box(placed: PlacedPicture) -> list[float]:
    """Write where a picture lies, from the corner of the trim: left, top, width, height in mm."""
    return [round(mm, 3) for mm in (placed.left_mm, placed.top_mm, placed.width_mm, placed.height_mm)]


def plates_known(asked: Iterable[PlateAsked | None]) -> dict[PlateAsked, PlateKnown]:
    """Find what was measured or waits to be, of what somebody asked for (1 query, none where nothing is asked)."""
    wanted = {one for one in asked if one is not None}
    if not wanted:
        return {}
    rows = PlateCheck.objects.filter(sha256__in={one.sha256 for one in wanted}, method=PLATE_METHOD)
    known = {PlateAsked(row.sha256, row.art_sha256, row.finish, row.laid): _known(row) for row in rows}
    return {one: known[one] for one in wanted if one in known}


def _known(row: PlateCheck) -> PlateKnown:
    if row.result is None:
        return PlateKnown(None, is_awaited=True)
    result: dict[str, Any] = row.result
    if "area" not in result:
        return PlateKnown(None)
    result = {"looked_for_folds": None} | result
    boxes = {name: tuple(tuple(box) for box in result[name]) for name in ("thin_places", "gap_places", "fold_places")}
    shift = Shift(**result["shift"]) if result["shift"] else None
    return PlateKnown(PlateFound(**{**result, **boxes, "shift": shift}))


def finish_of(told: PlateTold) -> Finish:
    return Finish(told.finish)
