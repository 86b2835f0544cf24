"""What speaks against the plates that go to press, as codes and values: what was found, and what was not looked at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from reviews.models import Passage, Picture, PlateTold
from reviews.press.file_check import NotLooked
from reviews.press.finish import FoundPlateFault, PlateFault, check_plate
from reviews.queries.frames import placed_on
from reviews.queries.plates import PlateAsked, PlateKnown, finish_limits, plate_asked, plates_known, plates_told


@dataclass(frozen=True)
class PlateJudged:
    """One plate held against its finish and its art. Each fault's values name the ``finish``."""

    faults: tuple[FoundPlateFault, ...]
    missed: tuple[NotLooked, ...]


@dataclass(frozen=True)
class PlateForPress:
    """A plate that stands approved, and the art that stands approved beneath it, if any does."""

    picture: Picture
    passage: Passage
    art: Picture | None


def plates_judged(plates: Sequence[PlateForPress]) -> dict[int, PlateJudged]:
    """Judge plates, by picture (at most 2 queries, none where there is no plate)."""
    if not plates:
        return {}
    told = plates_told([one.picture for one in plates])
    asked = {
        one.picture.pk: plate_asked(one.picture, one.passage, told[one.picture.pk])
        for one in plates
        if one.picture.pk in told
    }
    known = plates_known(asked.values())
    return {
        one.picture.pk: _judged(one, told[one.picture.pk], asked[one.picture.pk], known)
        if one.picture.pk in told
        else PlateJudged((), (NotLooked.PLATE_UNTOLD,))
        for one in plates
    }


def is_of(told: PlateTold, art: Picture | None) -> bool:
    """Say whether a plate is bound to the art that stands approved; where none does, no other is."""
    return art is None or told.art.sha256 == art.sha256


def _judged(
    plate: PlateForPress, told: PlateTold, asked: PlateAsked | None, known: dict[PlateAsked, PlateKnown]
) -> PlateJudged:
    older = []
    if plate.art is not None and not is_of(told, plate.art):
        older = [FoundPlateFault(PlateFault.OLDER_ART, {"art": plate.art.sha256})]
    one = known.get(asked) if asked else None
    placed = placed_on(plate.picture, plate.passage)
    if one is None or one.found is None or placed is None:
        return PlateJudged(_named(older, told), (_why_not(asked, one),))
    art_px = told.art.width_px or 1, told.art.height_px or 1
    faults = check_plate(one.found, (placed.width_mm, placed.height_mm), finish_limits(plate.passage, told), art_px)
    missed = (NotLooked.PLATE_REGISTER,) if one.found.shift is None and one.found.area else ()
    return PlateJudged(_named(older + faults, told), missed)


def _named(faults: list[FoundPlateFault], told: PlateTold) -> tuple[FoundPlateFault, ...]:
    return tuple(replace(fault, values=fault.values | {"finish": told.finish}) for fault in faults)


def _why_not(asked: PlateAsked | None, known: PlateKnown | None) -> NotLooked:
    if asked is None:
        return NotLooked.PLATE_NOT_LAID
    return NotLooked.PLATE_NOT_YET if known is None or known.is_awaited else NotLooked.PLATE_NOT_READ
