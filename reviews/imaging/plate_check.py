"""Measure a plate file and how it lies on the art: its own pixels in a confined child, its register beside it."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from reviews.imaging.arrays import Pixels
from reviews.imaging.child import sandbox
from reviews.imaging.decode import DEFAULT_LIMITS, read_rgb, unreadable
from reviews.imaging.limits import Limits
from reviews.imaging.proof.register import measure_shift, px_per_mm_of
from reviews.imaging.results import Refusal
from reviews.press.finish import FinishLimits, PlateFound

BoxMm = tuple[float, ...]  # left, top, width, height, from the corner of the trim


@dataclass(frozen=True)
class PlateLaid:
    """How plate and art lie on the page, by the page's edges, and where the sheet folds, in mm from the trim.

    ``channel`` is the spot channel of the art's own file that is the plate, None where the plate is a file.
    """

    plate: BoxMm
    art: BoxMm
    folds_mm: tuple[float, ...]
    channel: int | None = None


def plate_of(
    path: Path, art: Path, laid: PlateLaid, finish: FinishLimits, *, limits: Limits = DEFAULT_LIMITS
) -> PlateFound | Refusal:
    """Measure a plate at its print size, strip by strip, then its shift against the art, if it is another file."""
    refused = unreadable(path) or unreadable(art)
    if refused is not None:
        return refused
    answer = sandbox.run(
        "plate",
        {
            "path": str(path.resolve()),
            "is_strict": False,  # both were accepted before, and are shown
            "width_mm": laid.plate[2],
            "limits": asdict(finish),
            "folds_mm": [fold - laid.plate[0] for fold in laid.folds_mm],
            "channel": laid.channel,
        },
        limits,
    )
    if isinstance(answer, Refusal):
        return answer
    if laid.channel is not None:
        return _found(answer["plate"])
    px_per_mm = px_per_mm_of((laid.plate[2], laid.plate[3]), (laid.art[2], laid.art[3]))
    # One after the other, and the plate's colours let go before the art is read.
    finished = _finished_at_size(path, laid.plate, px_per_mm, limits)
    if isinstance(finished, Refusal):
        return finished
    art_rgb = _at_size(art, laid.art, px_per_mm, limits)
    if isinstance(art_rgb, Refusal):
        return art_rgb
    shift = measure_shift(*_on_each_other(finished, art_rgb, laid, px_per_mm), px_per_mm)
    return replace(_found(answer["plate"]), shift=shift)


def _finished_at_size(path: Path, box: BoxMm, px_per_mm: float, limits: Limits) -> Pixels | Refusal:
    pixels = _at_size(path, box, px_per_mm, limits)
    return pixels if isinstance(pixels, Refusal) else (255 - pixels.min(axis=2)).astype(np.uint8)


def _at_size(path: Path, box: BoxMm, px_per_mm: float, limits: Limits) -> Pixels | Refusal:
    """Read a picture as it is looked at, at the resolution at which register is measured."""
    wide, high = (round(mm * px_per_mm) for mm in box[2:])
    pixels = read_rgb(path, max(wide, high), is_strict=False, limits=limits)
    if isinstance(pixels, Refusal) or pixels.shape[:2] == (high, wide):
        return pixels
    return np.asarray(cv2.resize(pixels, (wide, high), interpolation=cv2.INTER_AREA), np.uint8)


def _on_each_other(plate: Pixels, art: Pixels, laid: PlateLaid, px_per_mm: float) -> tuple[Pixels, Pixels]:
    """Cut both to what they share of the page."""
    left, top = (max(a, b) for a, b in zip(laid.plate[:2], laid.art[:2], strict=True))
    cut = []
    for pixels, box in ((plate, laid.plate), (art, laid.art)):
        x, y = round((left - box[0]) * px_per_mm), round((top - box[1]) * px_per_mm)
        cut.append(pixels[y:, x:])
    high, wide = (min(one.shape[at] for one in cut) for at in range(2))
    return cut[0][:high, :wide], cut[1][:high, :wide]


def _found(told: dict[str, Any]) -> PlateFound:
    boxes = {name: tuple(tuple(box) for box in told[name]) for name in ("thin_places", "gap_places", "fold_places")}
    return PlateFound(**{**told, **boxes})
