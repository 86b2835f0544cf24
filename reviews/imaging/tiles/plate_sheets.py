"""A spot plate as a sheet to lay over the art: its ink in its own colour, and nothing where there is none.

Programs store plates either way round, and no field says which. Ink is taken to be what covers less of the sheet.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import cv2
import numpy as np

from reviews.imaging.arrays import Pixels
from reviews.imaging.files.colour import Colour
from reviews.imaging.results import PLATE_NAMES, PREVIEW_PX, SpotPlate
from reviews.imaging.tiles import previews

# Of a plate whose file states no colour; each is told from the next without relying on hue.
_UNSTATED = ("#c2185b", "#1b5e20", "#4527a0", "#bf360c")


def write_plate(image: Any, plate: SpotPlate, number: int, folder: Path, scratch: Path, orientation: int) -> None:
    """Write one plate (a sequential grey image) as a PNG with transparency; `number` counts from 0."""
    kept = previews.set_aside(image, scratch / f"plate-{number}", keep_whole=False)
    grey = previews.small_rgb(kept, PREVIEW_PX, Colour("GREY", None, "", None), orientation)[..., 0]
    ink = ink_of(grey)
    colour = plate.colour or _UNSTATED[number % len(_UNSTATED)]
    blue, green, red = (int(colour[at : at + 2], 16) for at in (5, 3, 1))
    sheet = np.empty((*ink.shape, 4), np.uint8)
    sheet[..., :3] = (blue, green, red)
    sheet[..., 3] = ink
    done, png = cv2.imencode(".png", sheet)
    if not done:
        raise ValueError("The plate could not be written.")
    (folder / PLATE_NAMES[number]).write_bytes(png.tobytes())


def ink_of(grey: Pixels) -> Pixels:
    """Return how much ink a plate has at each pixel, 0 to 255, whichever way round it is stored."""
    return np.asarray(255 - grey if is_bare_light(float(grey.mean())) else grey, np.uint8)


def is_bare_light(mean: float) -> bool:
    """Say by a plate's mean level, of 255, whether it is light where there is no ink."""
    return mean > 127.5
