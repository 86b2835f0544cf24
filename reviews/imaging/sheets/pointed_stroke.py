"""The colour of the stroke that somebody points at: measured in the scan around that point, whatever its hue."""

from __future__ import annotations

from typing import Literal

import cv2
import numpy as np

from reviews.imaging.arrays import Floats32, Pixels
from reviews.imaging.results import RefusalCode
from reviews.imaging.sheets.strips import enlarged

Hue = Literal["red", "orange", "yellow", "green", "blue", "violet", "pink"]
# A finger, or a pointer on a reduced picture, is off by about this share of the longer side: 1 mm on A4.
_REACH, _LEAST_REACH_PX = 0.004, 8
# Optical density over the paper: below the first is paper and noise; a grey beyond the second is ink, or grey pencil.
_FAINT, _INKED = 0.018, 0.12
# A stroke has a colour where its density leans this much to one or two channels; ink and graphite lean by less.
LEAST_LEAN = 0.3
# What the paper may differ by from its tone as it is known, which is smoothed.
_MOST_OFF = 0.008
# Fewer pixels of one colour are grain or dust.
_LEAST_PIXELS = 6
# Where on the wheel of hues (degrees) each name ends, from common usage.
_HUES: tuple[tuple[float, Hue], ...] = (
    (15, "red"),
    (45, "orange"),
    (70, "yellow"),
    (170, "green"),
    (255, "blue"),
    (295, "violet"),
    (345, "pink"),
    (360, "red"),
)


class NoStroke(Exception):
    """There is no stroke of a colour at the point: only paper, or only ink or grey pencil."""

    def __init__(self, code: RefusalCode) -> None:
        super().__init__(code)
        self.code: RefusalCode = code


def stroke_colour(scan_rgb: Pixels, paper: Floats32, at: tuple[float, float]) -> Floats32:
    """Measure a stroke's density colour: red, green, blue, the strongest of them 1.

    Parameters
    ----------
    scan_rgb : (rows, columns, 3) uint8.
    paper : the paper's tone under the drawing, at a reduced size.
    at : the point, as shares (0 to 1) of the width and of the height.

    Raises NoStroke where nothing of a colour lies there.
    """
    density, distance, reach = _around(scan_rgb, paper, at)
    strength = density.max(axis=2)
    lean = (strength - density.min(axis=2)) / np.maximum(strength, 1e-6)
    inner = distance <= max(2.0, reach / 3)
    if np.median(density.min(axis=2)[inner]) > _INKED:
        raise NoStroke("points-at-ink")
    coloured = (strength > _FAINT) & (lean > LEAST_LEAN) & (distance <= reach)
    if coloured.sum() < _LEAST_PIXELS:
        raise NoStroke(
            "points-at-ink" if (density.min(axis=2)[distance <= reach] > _INKED).any() else "points-at-paper"
        )
    # Of two pencils that cross near the point the nearer is meant.
    near = coloured & (distance <= distance[coloured].min() + reach / 3)
    found = density[near] / strength[near][:, None]
    return np.asarray(np.median(found, axis=0), np.float32)


def hue_of(colour: Floats32) -> Hue:
    """Name the hue that a pencil of this density colour has on paper."""
    red, green, blue = (float(10.0 ** (-0.4 * part)) for part in colour)
    high, low = max(red, green, blue), min(red, green, blue)
    spread = max(high - low, 1e-6)
    if high == red:
        degrees = 60 * ((green - blue) / spread % 6)
    elif high == green:
        degrees = 60 * ((blue - red) / spread + 2)
    else:
        degrees = 60 * ((red - green) / spread + 4)
    return next(name for end, name in _HUES if degrees <= end)


def _around(scan_rgb: Pixels, paper: Floats32, at: tuple[float, float]) -> tuple[Floats32, Floats32, float]:
    """Give density over the paper, smoothed, and distance from the point in pixels, for a window around it."""
    height, width = scan_rgb.shape[:2]
    reach = max(_LEAST_REACH_PX, round(_REACH * max(height, width)))
    x, y = min(width - 1, round(at[0] * width)), min(height - 1, round(at[1] * height))
    margin = reach + 3  # what the smoothing reaches
    rows = slice(max(0, y - margin), min(height, y + margin + 1))
    columns = slice(max(0, x - margin), min(width, x + margin + 1))
    tone = enlarged(paper, (width, height), rows)[:, columns]
    seen = np.maximum(scan_rgb[rows, columns].astype(np.float32), 2.0)
    density = np.log10(np.maximum(tone, 8.0) / seen)
    # The tone is that of the brightest paper near; what lies here between the strokes is the paper that counts.
    density = density - np.clip(np.percentile(density, 20, axis=(0, 1)), -_MOST_OFF, _MOST_OFF)
    down, across = np.mgrid[rows, columns].astype(np.float32)
    distance = np.hypot(down - y, across - x)
    return np.asarray(cv2.GaussianBlur(density, (0, 0), 0.8), np.float32), np.asarray(distance, np.float32), reach
