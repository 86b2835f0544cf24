"""What is known of plates: what they are for, which measurement each needs, and what was measured."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Case, CharField, OuterRef, Subquery, Value, When

from reviews.models import Passage, Picture, PlateCheck, PlateTold
from reviews.press.finish import FINISH_LIMITS, Finish, FinishLimits, PlateFound, Shift
from reviews.press.placing import PlacedPicture
from reviews.queries.final_art import DRAWN
from reviews.queries.frames import placed_on
from reviews.queries.print_set_ups import print_of
from reviews.rules.states import PictureState, StageKind

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


#: The picture, and the spot channel of its file where that is the plate.
PlateKey = tuple[int, int | None]


@dataclass(frozen=True, kw_only=True)
class PlateAt:
    """One plate: a picture of its own, or the spot channel ``channel`` of the art's file.

    ``name`` is what the file calls the channel, "" where it does not; ``number`` which of its plates it is, from 1.
    """

    picture: Picture
    passage: Passage
    channel: int | None = None
    name: str = ""
    number: int = 0

    @property
    def key(self) -> PlateKey:
        return self.picture.pk, self.channel

    @property
    def is_channel(self) -> bool:
        return self.channel is not None


def plates_at(picture: Picture, passage: Passage) -> list[PlateAt]:
    """List the plates that a picture is or holds: none of a sketch, nor what a file calls a mask (no query)."""
    if passage.stage.kind == StageKind.FINISH:
        return [PlateAt(picture=picture, passage=passage)]
    if passage.stage.kind not in DRAWN or picture.state != PictureState.READY:
        return []
    return [
        PlateAt(picture=picture, passage=passage, channel=one["channel"], name=one["name"], number=number)
        for number, one in enumerate(picture.facts.get("plates", ()), 1)
        if one["is_spot"] is not False
    ]


@dataclass(frozen=True)
class PlatesSeen:
    """What is known of some plates, by plate: what was told, the measurement each needs, and what that found."""

    told: dict[PlateKey, PlateTold]
    asked: dict[PlateKey, PlateAsked | None]
    known: dict[PlateKey, PlateKnown]


def plates_seen(plates: Sequence[PlateAt]) -> PlatesSeen:
    """Find what is known of plates (2 queries; 1 where all are spot channels, none where there is no plate)."""
    if not plates:
        return PlatesSeen({}, {}, {})
    joined = ("picture", "art__hand_in__passage__stage", "art__hand_in__passage__spread", "told_by__person")
    rows = PlateTold.objects.filter(picture__in={plate.picture.pk for plate in plates}).select_related(*joined)
    told = {(row.picture_id, row.channel): row for row in rows.annotate(**_measured(plates))}
    asked = {one.key: plate_asked(one.picture, one.passage, told[one.key]) for one in plates if one.key in told}
    found = _known_of_files([one for (_, channel), one in asked.items() if channel is None and one is not None])
    known = {}
    for key, one in asked.items():
        result = _result_of(told[key]) if key[1] is not None else found.get(one) if one else None
        if one is not None and result is not None:
            known[key] = result
    return PlatesSeen(told, asked, known)


def _measured(plates: Sequence[PlateAt]) -> dict[str, Any]:
    """Join to what was told of spot channels how each is measured: its art is at hand, so no second query is needed."""
    ways = [
        When(picture=one.picture.pk, channel=one.channel, finish=finish.value, then=Value(asked.laid))
        for one in plates
        if one.is_channel
        for finish in Finish
        if (asked := plate_asked(one.picture, one.passage, _as_told(one, finish))) is not None
    ]
    if not ways:
        return {}
    of_file = {"sha256": OuterRef("picture__sha256"), "art_sha256": OuterRef("picture__sha256")}
    checks = PlateCheck.objects.filter(**of_file, finish=OuterRef("finish"), laid=OuterRef("laid"), method=PLATE_METHOD)
    return {
        "laid": Case(*ways, default=Value(""), output_field=CharField()),
        "check_id": Subquery(checks.values("pk")[:1]),
        "found": Subquery(checks.values("result")[:1]),
    }


def _as_told(plate: PlateAt, finish: Finish) -> PlateTold:
    """Stand in for what may have been told of a spot channel."""
    return PlateTold(picture=plate.picture, art=plate.picture, channel=plate.channel, finish=finish.value)


def _result_of(told: PlateTold) -> PlateKnown | None:
    check_id: int | None = getattr(told, "check_id", None)
    return None if check_id is None else _known(getattr(told, "found", None))


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
    if told.channel is not None:
        laid["channel"] = told.channel
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


def _known_of_files(wanted: Collection[PlateAsked]) -> dict[PlateAsked, PlateKnown]:
    """Find what was measured or waits to be, of what somebody asked for (1 query, none where nothing is asked)."""
    if not wanted:
        return {}
    rows = PlateCheck.objects.filter(sha256__in={one.sha256 for one in wanted}, method=PLATE_METHOD)
    known = {PlateAsked(row.sha256, row.art_sha256, row.finish, row.laid): _known(row.result) for row in rows}
    return {one: known[one] for one in wanted if one in known}


def _known(result: dict[str, Any] | None) -> PlateKnown:
    if result is None:
        return PlateKnown(None, is_awaited=True)
    if "area" not in result:
        return PlateKnown(None)
    result = {"looked_for_folds": None} | result
    boxes = {name: tuple(tuple(box) for box in result[name]) for name in ("thin_places", "gap_places", "fold_places")}
    shift = Shift(**result["shift"]) if result["shift"] else None
    return PlateKnown(PlateFound(**{**result, **boxes, "shift": shift}))


def finish_of(told: PlateTold) -> Finish:
    return Finish(told.finish)
