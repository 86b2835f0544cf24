"""One picture that shows both versions laid on each other, with the changed places outlined."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

from reviews.geometry import Box
from reviews.imaging.arrays import Matrix, Pixels
from reviews.imaging.changes.findings import ComparisonResult

_RED, _BLUE = (196, 32, 38), (120, 168, 214)  # what is asked about, and where it was
_LONGEST_PX = 1600


def overlay(a_rgb: Pixels, b_rgb: Pixels, comparison: ComparisonResult) -> Pixels:
    """Draw A in blue and B in red tones over each other in A's frame, at most 1600 px, as an RGB uint8 picture.

    Where both have the same tone the result is neutral grey. Not aligned: the two stand side by side.
    """
    if not comparison.alignment.is_usable:
        return _side_by_side(a_rgb, b_rgb)
    height, width = a_rgb.shape[:2]
    factor = min(1.0, _LONGEST_PX / max(height, width))
    grow: Matrix = np.diag([factor, factor, 1.0])
    to_b = np.vstack([np.array(comparison.alignment.readings[0].a_to_b_px).reshape(2, 3), [0, 0, 1]])
    size = (round(width * factor), round(height * factor))
    first = cv2.cvtColor(cv2.resize(a_rgb, size, interpolation=cv2.INTER_AREA), cv2.COLOR_RGB2GRAY)
    flags = cv2.INTER_AREA | cv2.WARP_INVERSE_MAP
    warped = cv2.warpAffine(b_rgb, (to_b @ np.linalg.inv(grow))[:2], size, flags=flags, borderValue=(255, 255, 255))
    second = cv2.cvtColor(warped, cv2.COLOR_RGB2GRAY)
    canvas = np.ascontiguousarray(np.dstack([first, (first.astype(np.uint16) + second) // 2, second]).astype(np.uint8))
    for change in comparison.changes:
        for box, colour in ((change.old_on_a, _BLUE), (change.new_on_a, _RED)):
            if box is not None:
                _outline(canvas, box, colour)
    return np.asarray(canvas, np.uint8)


def _outline(canvas: Pixels, box: Box, colour: tuple[int, int, int]) -> None:
    height, width = canvas.shape[:2]
    ends = (round(box.x0 * width), round(box.y0 * height)), (round(box.x1 * width), round(box.y1 * height))
    cv2.rectangle(canvas, *ends, colour, 2, cv2.LINE_AA)


def _side_by_side(a_rgb: Pixels, b_rgb: Pixels) -> Pixels:
    height = min(900, a_rgb.shape[0], b_rgb.shape[0])
    parts = [
        cv2.resize(p, (round(p.shape[1] * height / p.shape[0]), height), interpolation=cv2.INTER_AREA)
        for p in (a_rgb, b_rgb)
    ]
    return np.asarray(np.hstack([parts[0], np.full((height, 20, 3), 128, np.uint8), parts[1]]), np.uint8)


def can_be_png(path: str) -> bool:
    """Say whether a picture can be written there: the name ends in .png, in a folder that exists."""
    place = Path(path)
    return place.suffix.lower() == ".png" and place.parent.is_dir()


def save_png(picture: Pixels, path: str) -> bool:
    """Write an RGB uint8 picture (rows, columns, 3); say whether it could be written there."""
    return bool(cv2.imwrite(path, picture[..., ::-1]))
