"""What is wrong with a file for print, from what it says of itself and what was measured on its pixels.

Pure arithmetic: pixels are looked at in `imaging.proof`. A check that could not be made is told as such; a file is
never called fit for print here, only free of the faults that were looked for.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from reviews.geometry import MM_PER_INCH
from reviews.press.flats import Flat
from reviews.press.limits import ArtKind, FileLimits


class FileFault(StrEnum):
    """What can be wrong."""

    TOO_FEW_PIXELS = "too-few-pixels"
    FEW_PIXELS = "few-pixels"
    WRONG_PROPORTIONS = "wrong-proportions"
    NO_BLEED = "no-bleed"
    NO_PROFILE = "no-profile"
    RGB = "rgb"
    SIXTEEN_BITS = "sixteen-bits"
    SEE_THROUGH = "see-through"
    TOO_MUCH_INK = "too-much-ink"
    THIN_FOUR_INK_BLACK = "thin-four-ink-black"
    FRONT_ALONE = "front-alone"
    SPINE_MOVED = "spine-moved"


class Weight(StrEnum):
    """How bad: a stopper shows in print, a caution wants a look, a remark is for the printer to know."""

    STOPPER = "stopper"
    CAUTION = "caution"
    REMARK = "remark"


class NotLooked(StrEnum):
    """A check that could not be made, and why."""

    INK_OF_RGB = "ink-of-rgb"  # no inks in the file, and no printing condition to convert to was given
    INK_OF_PLATE = "ink-of-plate"
    INK_NOT_YET = "ink-not-yet"  # the pixels are still being looked at
    INK_NOT_READ = "ink-not-read"  # they could not be
    PDF_PIXELS = "pdf-pixels"  # a PDF's pixels are those it was shown with, not its own
    COVER_SIZE = "cover-size"  # the paper is not told, so no spine is known
    PLATE_UNTOLD = "plate-untold"  # nobody said what a plate is for, so nothing was measured on it
    SPOT_UNTOLD = "spot-untold"  # the same of a spot channel of the art's file
    PLATE_NOT_YET = "plate-not-yet"
    PLATE_NOT_READ = "plate-not-read"
    PLATE_NOT_LAID = "plate-not-laid"  # it cannot be laid on its art: a PDF, or a piece of unknown size
    PLATE_REGISTER = "plate-register"  # the art draws too little of what is on the plate


@dataclass(frozen=True)
class FileFacts:
    """What a file is, as its header says."""

    width_px: int
    height_px: int
    mode: str
    bits: int
    has_profile: bool


@dataclass(frozen=True)
class InkFound:
    """Ink measured on the pixels, per cent of 400.

    ``area_over`` is the share of the picture over the limit, specks left out; ``places`` are boxes (left, top, right,
    bottom) as fractions of the picture, largest first; ``thin_black`` the share of the picture that is thin black line
    built from several inks.
    """

    highest: float
    area_over: float
    places: tuple[tuple[float, float, float, float], ...]
    thin_black: float
    thin_places: tuple[tuple[float, float, float, float], ...]


@dataclass(frozen=True)
class FoundFault:
    """One fault with its figures and where on the picture it is (nowhere in particular: the whole)."""

    code: FileFault
    weight: Weight
    values: dict[str, Any]
    places: tuple[tuple[float, float, float, float], ...] = ()


@dataclass(frozen=True)
class FileReport:
    """Every fault found, and every check that could not be made."""

    faults: tuple[FoundFault, ...]
    not_looked: tuple[NotLooked, ...]

    @property
    def is_at_fault(self) -> bool:
        return any(fault.weight == Weight.STOPPER for fault in self.faults)


def fits_bleed(facts: FileFacts, flat: Flat) -> bool:
    """Say whether a file's proportions are nearer to the piece with its bleed than without."""
    drawn = facts.width_px / facts.height_px
    wide, high = flat.with_bleed_mm
    return abs(drawn / (wide / high) - 1) <= abs(drawn / (flat.width_mm / flat.height_mm) - 1)


def effective_ppi(facts: FileFacts, flat: Flat) -> float:
    """Give the resolution at print size, by the direction that has less."""
    wide, high = flat.with_bleed_mm if fits_bleed(facts, flat) else (flat.width_mm, flat.height_mm)
    return min(facts.width_px / wide, facts.height_px / high) * MM_PER_INCH


def check_file(facts: FileFacts, flat: Flat, art: ArtKind, limits: FileLimits, ink: InkFound | None) -> FileReport:
    """Hold a file against its piece and the limits; ``ink`` is None where no inks could be measured."""
    faults = [*_resolution(facts, flat, art, limits), *_shape(facts, flat, limits), *_colour(facts)]
    missed: tuple[NotLooked, ...] = ()
    if ink is None:
        missed = (NotLooked.INK_OF_RGB,) if facts.mode.startswith(("RGB", "GREY", "LAB")) else (NotLooked.INK_OF_PLATE,)
    else:
        faults += _inks(ink, limits)
    return FileReport(tuple(faults), missed)


def _resolution(facts: FileFacts, flat: Flat, art: ArtKind, limits: FileLimits) -> Iterator[FoundFault]:
    asked, ppi = limits.resolutions[art], round(effective_ppi(facts, flat))
    values = {"ppi": ppi, "warn": asked.warn, "least": asked.least, "source": asked.source}
    if ppi < asked.least:
        yield FoundFault(FileFault.TOO_FEW_PIXELS, Weight.STOPPER, values)
    elif ppi < asked.warn:
        yield FoundFault(FileFault.FEW_PIXELS, Weight.CAUTION, values)


def _shape(facts: FileFacts, flat: Flat, limits: FileLimits) -> Iterator[FoundFault]:
    drawn = facts.width_px / facts.height_px
    wide, high = flat.with_bleed_mm
    off_bleed, off_trim = abs(drawn / (wide / high) - 1), abs(drawn / (flat.width_mm / flat.height_mm) - 1)
    sizes = {"width_mm": wide, "height_mm": high, "bleed_mm": flat.bleed_mm}
    if min(off_bleed, off_trim) > limits.aspect_error:
        per_cent = round(100 * min(off_bleed, off_trim), 1)
        yield FoundFault(FileFault.WRONG_PROPORTIONS, Weight.STOPPER, {**sizes, "per_cent": per_cent})
    # On a square piece bleed changes no proportion: nothing can be told, and nothing is.
    elif flat.bleed_mm and off_trim < off_bleed:
        yield FoundFault(FileFault.NO_BLEED, Weight.STOPPER, sizes)


def _colour(facts: FileFacts) -> Iterator[FoundFault]:
    if not facts.has_profile and facts.mode not in {"BILEVEL", "LAB"}:
        yield FoundFault(FileFault.NO_PROFILE, Weight.CAUTION, {"mode": facts.mode})
    if facts.mode.startswith("RGB"):
        yield FoundFault(FileFault.RGB, Weight.REMARK, {})
    if facts.mode.endswith("A") and facts.mode != "LAB":
        yield FoundFault(FileFault.SEE_THROUGH, Weight.CAUTION, {})
    if facts.bits > 8:
        yield FoundFault(FileFault.SIXTEEN_BITS, Weight.REMARK, {"bits": facts.bits})


def _inks(ink: InkFound, limits: FileLimits) -> Iterator[FoundFault]:
    if ink.places:
        values = {
            "highest": round(ink.highest),
            "limit": limits.ink.limit,
            "source": limits.ink.source,
            "per_cent": round(100 * ink.area_over, 2),
        }
        yield FoundFault(FileFault.TOO_MUCH_INK, Weight.STOPPER, values, ink.places)
    if ink.thin_places:
        values = {"thin_mm": limits.thin_mm, "n": len(ink.thin_places)}
        yield FoundFault(FileFault.THIN_FOUR_INK_BLACK, Weight.CAUTION, values, ink.thin_places)
