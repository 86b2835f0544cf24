"""The smallest picture, many of which stand on one screen, and the colours it is mostly made of."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

from reviews.imaging.results import MINI_NAME, MINI_PX, THUMB_NAME, fitted
from reviews.imaging.tiles import tiling
from reviews.imaging.tiles.palette import main_colours

#: Forty of these are to weigh less than 300 kB: at 240 pixels and this quality the 70 minis of the demo were counted at
#: 6.3 kB on average, the heaviest at 11.4 kB.
MINI_QUALITY = 60


def write_mini(folder: Path) -> list[tuple[str, float]]:
    """Write the mini of the thumb that lies in a folder, and name the picture's main colours."""
    thumb = cv2.imdecode(np.frombuffer((folder / THUMB_NAME).read_bytes(), np.uint8), cv2.IMREAD_COLOR)
    if thumb is None:
        raise ValueError(f"{folder / THUMB_NAME} is no JPEG")
    height, width = thumb.shape[:2]
    mini = cv2.resize(thumb, fitted(width, height, MINI_PX), interpolation=cv2.INTER_AREA)
    (folder / MINI_NAME).write_bytes(tiling.jpeg(np.asarray(mini, np.uint8), MINI_QUALITY))
    return main_colours(np.asarray(cv2.cvtColor(thumb, cv2.COLOR_BGR2RGB), np.uint8))
