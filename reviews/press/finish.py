"""Special finishes as numbers: what each can hold, by whom that is published, and what is wrong with a plate.

Printers differ; every figure is a starting value that a house edits.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from math import hypot
from typing import Any

from reviews.geometry import MM_PER_INCH
from reviews.press.file_check import Weight

Box = tuple[float, float, float, float]


class Finish(StrEnum):
    """What is put on the printed sheet."""

    FOIL = "foil"
    SPOT_VARNISH = "spot-varnish"
    EMBOSS = "emboss"


class Metal(StrEnum):
    """What foil looks like."""

    GOLD = "gold"
    SILVER = "silver"
    COPPER = "copper"


class PlateWay(StrEnum):
    """Whether the art is printed beneath a finish. Printers differ: it must be said to them."""

    OVERPRINT = "overprint"
    KNOCK_OUT = "knock-out"


@dataclass(frozen=True)
class Shift:
    """How far a plate lies off its art in mm: to the right and down above nought."""

    right_mm: float
    down_mm: float

    @property
    def off_mm(self) -> float:
        return hypot(self.right_mm, self.down_mm)


@dataclass(frozen=True, kw_only=True)
class FinishLimits:
    """What a finish can hold, in mm: the thinnest line, the smallest gap, the way to a fold, the register.

    ``source`` is where they come from, but for a line or a gap that is the printer's own.
    """

    source: str
    least_line_mm: float
    least_gap_mm: float
    fold_mm: float
    register_mm: float
    is_line_own: bool = False
    is_gap_own: bool = False


FINISH_LIMITS = {
    Finish.FOIL: FinishLimits(
        source="foilers",
        least_line_mm=0.2,
        least_gap_mm=0.5,
        fold_mm=1.5,
        register_mm=0.3,
    ),
    Finish.SPOT_VARNISH: FinishLimits(
        source="varnish-guides",
        least_line_mm=0.38,
        least_gap_mm=0.56,
        fold_mm=1.5,
        register_mm=0.5,
    ),
    Finish.EMBOSS: FinishLimits(
        source="packaging-guide",
        least_line_mm=0.15,
        least_gap_mm=0.3,
        fold_mm=1.5,
        register_mm=0.5,
    ),
}
MOST_PLACES = 60  # as many as are kept of one kind: so many, and there may be more
LEAST_PPI = 600.0  # a plate as a raster; 1200 and 1 bit is better (common practice)


class PlateFault(StrEnum):
    TONES = "tones"
    THIN_LINE = "thin-line"
    SMALL_GAP = "small-gap"
    NEAR_FOLD = "near-fold"
    OTHER_SIZE = "other-size"
    FEW_PIXELS = "few-pixels"
    EMPTY = "empty"
    OFF_REGISTER = "off-register"
    OLDER_ART = "older-art"  # the plate was made for another version of the art than the one approved


#: What cannot be made from the plate as it is stands between it and the press; the rest wants the finisher's word.
PLATE_WEIGHTS = {
    PlateFault.EMPTY: Weight.STOPPER,
    PlateFault.TONES: Weight.STOPPER,
    PlateFault.OTHER_SIZE: Weight.STOPPER,
    PlateFault.OFF_REGISTER: Weight.STOPPER,
    PlateFault.OLDER_ART: Weight.STOPPER,
    PlateFault.FEW_PIXELS: Weight.CAUTION,
    PlateFault.THIN_LINE: Weight.CAUTION,
    PlateFault.SMALL_GAP: Weight.CAUTION,
    PlateFault.NEAR_FOLD: Weight.CAUTION,
}


@dataclass(frozen=True, kw_only=True)
class PlateFound:
    """What was measured on a plate: shares of the picture, and boxes as fractions of it.

    ``tones`` is the share of pixels that are neither bare nor full; ``shift`` None where register could not be
    measured. ``looked_for_folds`` is None where an older measurement does not tell.
    """

    width_px: int
    height_px: int
    area: float
    tones: float
    thin_places: tuple[Box, ...]
    gap_places: tuple[Box, ...]
    fold_places: tuple[Box, ...]
    shift: Shift | None = None
    looked_for_folds: bool | None = None


@dataclass(frozen=True)
class FoundPlateFault:
    code: PlateFault
    values: dict[str, Any]
    places: tuple[Box, ...] = ()

    @property
    def weight(self) -> Weight:
        return PLATE_WEIGHTS[self.code]


#: A line or gap of fewer pixels than this is as wide as what a raster leaves of any edge: it is not looked for.
LEAST_PX = 2


def is_seen(least_mm: float, px_per_mm: float) -> bool:
    """Say whether a line or gap of a width can be told on a plate of so many pixels to the millimetre."""
    return int(least_mm * px_per_mm) >= LEAST_PX


def plate_area_cm2(found: PlateFound, size_mm: tuple[float, float]) -> float:
    """Give the finished area in cm², by which foil is priced, of a plate printed at a size."""
    wide, high = size_mm
    return round(found.area * wide * high / 100, 1)


def check_plate(
    found: PlateFound, size_mm: tuple[float, float], limits: FinishLimits, art_px: tuple[int, int]
) -> list[FoundPlateFault]:
    """Hold a plate, printed at a size, against its finish and the art it lies on, of ``art_px`` width and height."""
    return list(_faults(found, size_mm, limits, art_px))


# Tones at the edges of shapes are how a raster draws a slope; more than this share is tone meant as tone.
_EDGE_TONES = 0.01
# Art and plate show one page: their proportions agree to a thousandth, whatever their resolutions.
_SAME_SHAPE = 0.002


def _faults(
    found: PlateFound, size_mm: tuple[float, float], limits: FinishLimits, art_px: tuple[int, int]
) -> Iterator[FoundPlateFault]:
    if not found.area:
        yield FoundPlateFault(PlateFault.EMPTY, {})
        return
    ppi = found.width_px / size_mm[0] * MM_PER_INCH
    if round(ppi) < LEAST_PPI:
        yield FoundPlateFault(PlateFault.FEW_PIXELS, {"ppi": round(ppi), "least": LEAST_PPI})
    if abs(found.width_px * art_px[1] / (found.height_px * art_px[0]) - 1) > _SAME_SHAPE:
        yield FoundPlateFault(PlateFault.OTHER_SIZE, {"width_px": found.width_px, "height_px": found.height_px})
    if found.tones > _EDGE_TONES:
        yield FoundPlateFault(PlateFault.TONES, {"per_cent": round(100 * found.tones, 1)})
    if found.shift and found.shift.off_mm > limits.register_mm:
        off = {"off": round(found.shift.off_mm, 2), "right": found.shift.right_mm, "down": found.shift.down_mm}
        yield FoundPlateFault(PlateFault.OFF_REGISTER, off | {"least": limits.register_mm})
    for code, least, places, is_own in (
        (PlateFault.THIN_LINE, limits.least_line_mm, found.thin_places, limits.is_line_own),
        (PlateFault.SMALL_GAP, limits.least_gap_mm, found.gap_places, limits.is_gap_own),
        (PlateFault.NEAR_FOLD, limits.fold_mm, found.fold_places, False),
    ):
        if places:
            told: dict[str, Any] = {"least": least, "n": len(places)}
            yield FoundPlateFault(code, told | ({"source": "own"} if is_own else {}), places)
