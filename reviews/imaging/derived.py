"""New pictures made from handed-in ones: files in, a file out, with a recipe that names its sources by hash.

The sources stay the originals; a derived picture can always be made again from them by its recipe.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.decode import read_rgb
from reviews.imaging.results import Refusal
from reviews.imaging.scans import CouldNotJoin, join_scans
from reviews.imaging.under_drawing import take_out_under_drawing

Pixels = NDArray[np.uint8]
# Sheets are worked on at full size up to this side: an A3 sheet at 600 ppi. Several are in memory at once.
MAX_SIDE_PX = 10_000

__all__ = ["Derived", "Refusal", "join_files", "take_ink_from"]


@dataclass(frozen=True)
class Derived:
    """A new picture: where it is, how large, what was done in a sentence, and the recipe."""

    path: Path
    width_px: int
    height_px: int
    said: str
    recipe: dict[str, Any]


def join_files(sheets: Sequence[Path], out: Path) -> Derived | Refusal:
    """Join scans of one drawing into a PNG."""
    pictures = []
    for number, path in enumerate(sheets, 1):
        read = read_rgb(path, MAX_SIDE_PX)
        if isinstance(read, Refusal):
            return Refusal(read.code, f"Sheet {number} ({path.name}): {read.sentence}")
        pictures.append(read)
    joined = join_scans(pictures)
    if isinstance(joined, CouldNotJoin):
        return Refusal(joined.code, joined.sentence)
    said = f"{len(sheets)} sheets joined; what they share lies {joined.residual_px:.2f} px apart."
    return _keep(joined.picture, out, said, joined.recipe, sheets)


def take_ink_from(scan: Path, out: Path, pencil: str = "") -> Derived | Refusal:
    """Leave only the ink of a scan, as a grey PNG."""
    read = read_rgb(scan, MAX_SIDE_PX)
    if isinstance(read, Refusal):
        return read
    found = take_out_under_drawing(read, pencil)
    if not found.pencil:
        return Refusal(
            "no-pencil",
            "No orange, red or blue under-drawing was found in this scan, so there is nothing to take out. Check that "
            "it was scanned in colour.",
        )
    said = f"The {found.pencil} under-drawing, {found.pencil_share:.1%} of the picture, was taken out."
    return _keep(found.picture, out, said, found.recipe, [scan])


def _keep(picture: Pixels, out: Path, said: str, recipe: dict[str, Any], sources: Sequence[Path]) -> Derived:
    bgr = picture if picture.ndim == 2 else cv2.cvtColor(picture, cv2.COLOR_RGB2BGR)
    done, data = cv2.imencode(".png", bgr)
    if not done:
        raise RuntimeError("a PNG could not be written")
    out.write_bytes(data.tobytes())
    hashes = [hashlib.sha256(path.read_bytes()).hexdigest() for path in sources]
    return Derived(out, picture.shape[1], picture.shape[0], said, recipe | {"sources_sha256": hashes})
