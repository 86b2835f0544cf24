"""Register: how far a plate of a special finish lies off the art beneath it, in mm.

Edges of the plate are looked for in the art: each pixel's edge is a vector of twice its angle, so that a dark and a
light side of the same edge agree and edges that merely cross do not. Windows in which the plate has edges are laid on
the art within a reach, and what they say is added up. It is told only where one place stands out of all others: a
plate over art that draws nothing of it (varnish over a soft sky) has no register that could be measured from pixels.

Edges are made window by window, so that memory holds the two pictures in bytes and little else; what is larger than
``MOST_PX`` is looked at more coarsely. ``python -m tests.bench.register`` measures the peak.
"""

from __future__ import annotations

import heapq
import math

import cv2
import numpy as np

from reviews.imaging.arrays import Floats32, Pixels
from reviews.press.finish import Shift

METHOD = "register-1"
PX_PER_MM = 8.0  # a pixel of 0.125 mm, told to a tenth of that: finer than any register
# Pixels of a picture laid for it: 310 × 600 mm at 8 px/mm. At half the resolution, a flat of four times the area, a
# known shift still comes back within 0.05 mm (tests/imaging/test_register.py).
MOST_PX = 12_000_000
REACH_MM = 3.0  # beyond this nobody speaks of register
_WINDOW_MM = 24.0
_MOST_WINDOWS = 40
_MARGIN_PX = 8  # how far the softening of an edge reaches, and more
_SOFT = 24.0  # levels of 255 to a pixel at which an edge counts for half
_LEAST_EDGE = 400.0  # pixels of edge, 50 mm, under which there is nothing to measure by
# The share of the plate's edge that meets edges of the art of the same direction, and how far it stands out of what any
# other place half a millimetre off or more meets: measured on our own drawings, with the finish drawn and without.
_LEAST_SHARE, _LEAST_LEAD, _OTHER_MM = 0.25, 0.08, 0.6


def px_per_mm_of(*sizes_mm: tuple[float, float]) -> float:
    """Give the resolution at which pictures of these sizes are laid on each other, the same for all."""
    largest = max(wide * high for wide, high in sizes_mm)
    return min(PX_PER_MM, math.sqrt(MOST_PX / largest))


def measure_shift(plate: Pixels, art: Pixels, px_per_mm: float = PX_PER_MM, reach_mm: float = REACH_MM) -> Shift | None:
    """Say how far a plate lies off the art, or None where that cannot be told.

    Parameters
    ----------
    plate : (rows, columns) uint8, 255 where there is finish.
    art : (rows, columns, 3) uint8 of the same size, laid by the edges of the page.

    Returns
    -------
    Shift in mm, right and down of the art above nought; known within 0.05 mm on drawn scenes.
    """
    reach = round(reach_mm * px_per_mm)
    windows = _windows(plate, round(_WINDOW_MM * px_per_mm), reach)
    weight = sum(float((window**2).sum()) for _, _, window in windows)
    if weight < _LEAST_EDGE:
        return None
    agreed = np.zeros((2 * reach + 1, 2 * reach + 1), np.float32)
    for top, left, window in windows:
        high, wide = window.shape[:2]
        around = _edges_of(art, top - reach, left - reach, top + high + reach, left + wide + reach)
        for part in range(2):
            agreed += cv2.matchTemplate(
                np.ascontiguousarray(around[..., part]), np.ascontiguousarray(window[..., part]), cv2.TM_CCORR
            )
    return _peak(agreed / weight, reach, px_per_mm)


def _edges(picture: Pixels) -> Floats32:
    """Give each pixel's edge as a vector of twice its angle, of a length of 0 to 1; the strongest channel counts."""
    channels = picture[..., None] if picture.ndim == 2 else picture
    best = np.zeros((*channels.shape[:2], 2), np.float32)
    strongest = np.zeros(channels.shape[:2], np.float32)
    for at in range(channels.shape[2]):
        soft = cv2.GaussianBlur(np.ascontiguousarray(channels[..., at]), (0, 0), 1.0)
        across = cv2.Sobel(soft, cv2.CV_32F, 1, 0, scale=0.25)
        down = cv2.Sobel(soft, cv2.CV_32F, 0, 1, scale=0.25)
        strength = cv2.magnitude(across, down)
        is_more = strength > strongest
        strongest[is_more] = strength[is_more]
        length = strength / (strength + _SOFT) / np.maximum(strength, 1e-6) ** 2
        best[..., 0][is_more] = ((across**2 - down**2) * length)[is_more]
        best[..., 1][is_more] = (2 * across * down * length)[is_more]
    return best


def _edges_of(picture: Pixels, top: int, left: int, bottom: int, right: int) -> Floats32:
    """Give the edges of a part of a picture as they are in the whole of it."""
    above, before = min(_MARGIN_PX, top), min(_MARGIN_PX, left)
    part = picture[top - above : bottom + _MARGIN_PX, left - before : right + _MARGIN_PX]
    return _edges(part)[above : above + bottom - top, before : before + right - left]


def _windows(plate: Pixels, side: int, reach: int) -> list[tuple[int, int, Floats32]]:
    """Cut the plate into windows that keep the reach from its border; those with the most edge, with their corners."""
    high, wide = plate.shape[:2]
    found: list[tuple[float, int, int, Floats32]] = []
    for top in range(reach, high - reach, side):
        for left in range(reach, wide - reach, side):
            window = _edges_of(plate, top, left, min(top + side, high - reach), min(left + side, wide - reach))
            amount = float((window**2).sum())
            if amount > 1:
                # Corners differ, so two windows of the same amount are never told apart by their pixels.
                heapq.heappush(found, (amount, -top, -left, window.copy()))
            if len(found) > _MOST_WINDOWS:
                heapq.heappop(found)
    return [(-top, -left, window) for _, top, left, window in sorted(found, key=lambda one: -one[0])]


def _peak(agreed: Floats32, reach: int, px_per_mm: float) -> Shift | None:
    row, column = (int(at) for at in np.unravel_index(int(agreed.argmax()), agreed.shape))
    best = float(agreed[row, column])
    rows, columns = np.ogrid[: agreed.shape[0], : agreed.shape[1]]
    apart = (rows - row) ** 2 + (columns - column) ** 2 > (_OTHER_MM * px_per_mm) ** 2
    lead = best - float(agreed[apart].max())
    at_the_rim = row in {0, 2 * reach} or column in {0, 2 * reach}
    if best < _LEAST_SHARE or lead < _LEAST_LEAD or at_the_rim:
        return None
    down = row + _between(agreed[row - 1, column], best, agreed[row + 1, column]) - reach
    right = column + _between(agreed[row, column - 1], best, agreed[row, column + 1]) - reach
    # Where the art lies right of the plate, the plate lies left of the art.
    return Shift(round(-right / px_per_mm, 3), round(-down / px_per_mm, 3))


def _between(before: float, at: float, after: float) -> float:
    """Give the top of the parabola through three neighbours, from the middle one."""
    bend = before - 2 * at + after
    return 0.0 if bend >= 0 else float(0.5 * (before - after) / bend)
