"""One picture that shows both versions laid on each other, with the changed places outlined."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

from reviews.geometry import Box
from reviews.imaging.arrays import Bools, Matrix, Pixels
from reviews.imaging.changes.findings import ComparisonResult

_RED, _BLUE = (196, 32, 38), (120, 168, 214)  # what is asked about, and where it was
_LONGEST_PX = 1600


_MOST_BEYOND = 0.5  # of A's sides: so much of B beyond A is drawn
_HATCH_PX, _HATCH_LINE_PX = 14, 2


def overlay(a_rgb: Pixels, b_rgb: Pixels, comparison: ComparisonResult) -> Pixels:
    """Draw A in blue and B in red tones over each other in A's frame, at most 1600 px, as an RGB uint8 picture.

    Where both have the same tone the result is neutral grey. What B no longer shows is hatched in the blue of guides,
    what lies beyond A stands around it, hatched in red. Not aligned: the two stand side by side.
    """
    if not comparison.alignment.is_usable:
        return _side_by_side(a_rgb, b_rgb)
    to_b = np.vstack([np.array(comparison.alignment.readings[0].a_to_b_px).reshape(2, 3), [0, 0, 1]])
    left, top, right, bottom = _reach(a_rgb, b_rgb, to_b)
    factor = min(1.0, _LONGEST_PX / max(bottom - top, right - left))
    size = (round((right - left) * factor), round((bottom - top) * factor))
    place: Matrix = np.array([[factor, 0, -left * factor], [0, factor, -top * factor], [0, 0, 1]], np.float64)
    (first, on_a), (second, on_b) = (
        _placed(a_rgb, np.asarray(np.linalg.inv(place), np.float64), size),
        _placed(b_rgb, np.asarray(to_b @ np.linalg.inv(place), np.float64), size),
    )
    canvas = np.ascontiguousarray(np.dstack([first, (first.astype(np.uint16) + second) // 2, second]).astype(np.uint8))
    _hatch(canvas, on_a & ~on_b, _BLUE)
    _hatch(canvas, on_b & ~on_a, _RED)
    for change in comparison.changes:
        for box, colour in ((change.old_on_a, _BLUE), (change.new_on_a, _RED)):
            if box is not None:
                _outline(canvas, box, colour, place @ np.diag([a_rgb.shape[1], a_rgb.shape[0], 1.0]))
    return np.asarray(canvas, np.uint8)


def _reach(a_rgb: Pixels, b_rgb: Pixels, to_b: Matrix) -> tuple[int, int, int, int]:
    """Return the part of A's plane to draw, in px of A: all of A, and of B what lies near it."""
    (height, width), (b_height, b_width) = a_rgb.shape[:2], b_rgb.shape[:2]
    corners = np.array([[0, 0, 1], [b_width, 0, 1], [b_width, b_height, 1], [0, b_height, 1]]) @ np.linalg.inv(to_b).T
    low, high = corners[:, :2].min(0), corners[:, :2].max(0)
    return (
        round(max(-_MOST_BEYOND * width, min(0.0, low[0]))),
        round(max(-_MOST_BEYOND * height, min(0.0, low[1]))),
        round(min((1 + _MOST_BEYOND) * width, max(width, high[0]))),
        round(min((1 + _MOST_BEYOND) * height, max(height, high[1]))),
    )


def _placed(rgb: Pixels, from_canvas: Matrix, size: tuple[int, int]) -> tuple[Pixels, Bools]:
    """Return the grey of a picture on the canvas, white around it, and where it lies."""
    flags = cv2.INTER_AREA | cv2.WARP_INVERSE_MAP
    drawn = cv2.warpAffine(rgb, from_canvas[:2], size, flags=flags, borderValue=(255, 255, 255))
    where = cv2.warpAffine(
        np.ones(rgb.shape[:2], np.uint8), from_canvas[:2], size, flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    )
    return np.asarray(cv2.cvtColor(drawn, cv2.COLOR_RGB2GRAY), np.uint8), np.asarray(where > 0, bool)


def _hatch(canvas: Pixels, where: Bools, colour: tuple[int, int, int]) -> None:
    rows, columns = np.nonzero(where)
    on_line = (rows + columns) % _HATCH_PX < _HATCH_LINE_PX
    canvas[rows[on_line], columns[on_line]] = colour


def _outline(canvas: Pixels, box: Box, colour: tuple[int, int, int], place: Matrix) -> None:
    ends = (place @ np.array([[box.x0, box.x1], [box.y0, box.y1], [1.0, 1.0]]))[:2].round().astype(int)
    cv2.rectangle(canvas, ends[:, 0].tolist(), ends[:, 1].tolist(), colour, 2, cv2.LINE_AA)


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
