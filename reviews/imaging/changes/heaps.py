"""Lines without counterpart that lie together, gathered at a scale of one's choice."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import Bools, BoxPx, Floats32

_DENSITY_BLUR_MM, _SHARE = 2.2, 0.35
_CRUMBS = 1.5  # per cent of a heap's pixels at either end that do not stretch its box


@dataclass(frozen=True, eq=False)
class Heap:
    """Unmatched lines lying together: their pixels, and mm of line."""

    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    mass_mm: float

    @property
    def box(self) -> BoxPx:
        return (
            float(self.columns.min()),
            float(self.rows.min()),
            float(self.columns.max() + 1),
            float(self.rows.max() + 1),
        )


def solid_box(heap: Heap) -> BoxPx:
    """Return the box of nearly all of a heap: a few far crumbs do not stretch it."""
    (x0, x1), (y0, y1) = (np.percentile(v, (_CRUMBS, 100 - _CRUMBS)) for v in (heap.columns, heap.rows))
    return float(x0), float(y0), float(x1) + 1, float(y1) + 1


def find_heaps(
    weight: Floats32, ridge: Bools, px_per_mm: float, *, closing_mm: float, density: float, least_mm: float
) -> list[Heap]:
    """Gather unmatched ridge pixels that lie densely, and are most of the lines there, heaviest first.

    `density` is in mm of line per mm2; what weighs under `least_mm` of line is dropped.
    """
    sigma = _DENSITY_BLUR_MM * px_per_mm
    dense = cv2.GaussianBlur(weight, (0, 0), sigma)
    lines = cv2.GaussianBlur(ridge.astype(np.float32), (0, 0), sigma)
    core = (dense * px_per_mm > density) & (dense > _SHARE * lines)
    side = 2 * round(closing_mm * px_per_mm / 2) + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    joined = cv2.morphologyEx(core.astype(np.uint8), cv2.MORPH_CLOSE, kernel)
    count, labels = cv2.connectedComponents(joined, connectivity=8)
    rows, columns = np.nonzero((weight > 0.25) & (labels > 0))
    owner = labels[rows, columns]
    mass = np.bincount(owner, weights=weight[rows, columns], minlength=count) / px_per_mm
    found = []
    for i in np.argsort(-mass, kind="stable"):
        if i == 0 or mass[i] < least_mm:
            continue
        mine = owner == i
        found.append(Heap(rows[mine], columns[mine], float(mass[i])))
    return found
