"""What speaks against the plates that go to press, as codes and values: what was found, and what was not looked at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from reviews.models import Picture, PlateTold
from reviews.press.file_check import NotLooked
from reviews.press.finish import FoundPlateFault, PlateFault, check_plate
from reviews.queries.frames import placed_on
from reviews.queries.plates import PlateAsked, PlateAt, PlateKnown, PlatesSeen, finish_limits, plates_seen


@dataclass(frozen=True)
class PlateJudged:
    """One plate held against its finish and its art. Each fault's values name the ``finish``."""

    faults: tuple[FoundPlateFault, ...]
    missed: tuple[NotLooked, ...]


@dataclass(frozen=True)
class PlateForPress:
    """A plate that stands approved, and the art that stands approved beneath it, if any does."""

    at: PlateAt
    art: Picture | None


def plates_judged(plates: Sequence[PlateForPress]) -> dict[int, PlateJudged]:
    """Judge plates, those of one picture together, by picture (at most 2 queries, none where there is no plate)."""
    seen = plates_seen([one.at for one in plates])
    judged: dict[int, PlateJudged] = {}
    for one in plates:
        found = _judged(one, seen) if one.at.key in seen.told else _untold(one.at)
        before = judged.get(one.at.picture.pk, PlateJudged((), ()))
        missed = tuple(dict.fromkeys(before.missed + found.missed))
        judged[one.at.picture.pk] = PlateJudged(before.faults + found.faults, missed)
    return judged


def _untold(plate: PlateAt) -> PlateJudged:
    return PlateJudged((), (NotLooked.SPOT_UNTOLD if plate.is_channel else NotLooked.PLATE_UNTOLD,))


def is_of(told: PlateTold, art: Picture | None) -> bool:
    """Say whether a plate is bound to the art that stands approved; where none does, no other is."""
    return art is None or told.art.sha256 == art.sha256


def _judged(plate: PlateForPress, seen: PlatesSeen) -> PlateJudged:
    told, asked, one = seen.told[plate.at.key], seen.asked[plate.at.key], seen.known.get(plate.at.key)
    older = []
    if plate.art is not None and not is_of(told, plate.art):
        older = [FoundPlateFault(PlateFault.OLDER_ART, {"art": plate.art.sha256})]
    placed = placed_on(plate.at.picture, plate.at.passage)
    if one is None or one.found is None or placed is None:
        return PlateJudged(_named(older, told, plate.at), (_why_not(asked, one),))
    art_px = told.art.width_px or 1, told.art.height_px or 1
    faults = check_plate(one.found, (placed.width_mm, placed.height_mm), finish_limits(plate.at.passage, told), art_px)
    # A channel of the art's own file lies on the art as the file has it: there is no register to measure.
    is_unlaid = one.found.shift is None and one.found.area and not plate.at.is_channel
    missed = (NotLooked.PLATE_REGISTER,) if is_unlaid else ()
    return PlateJudged(_named(older + faults, told, plate.at), missed)


def _named(faults: list[FoundPlateFault], told: PlateTold, plate: PlateAt) -> tuple[FoundPlateFault, ...]:
    more: dict[str, Any] = {"finish": told.finish}
    if plate.is_channel:
        more |= {"channel": plate.channel, "plate": plate.name, "number": plate.number}
    return tuple(replace(fault, values=fault.values | more) for fault in faults)


def _why_not(asked: PlateAsked | None, known: PlateKnown | None) -> NotLooked:
    if asked is None:
        return NotLooked.PLATE_NOT_LAID
    return NotLooked.PLATE_NOT_YET if known is None or known.is_awaited else NotLooked.PLATE_NOT_READ
