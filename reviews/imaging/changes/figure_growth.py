"""What follows a figure's supposed motion and hangs together: the whole figure, around the part it was found by."""

from __future__ import annotations

import cv2
import numpy as np

from reviews.imaging.arrays import BoxPx, Complexes, Floats32, Matrix
from reviews.imaging.changes.fields import fetch_field
from reviews.imaging.changes.heaps import Heap, solid_box
from reviews.imaging.changes.warp import WarpedPair

CLOSING_MM = 14.0  # parts of one figure lie this near each other
_AROUND_MM, _BLUR_MM, _FOLLOWS, _FOLLOWS_MORE, _LINE = 40.0, 2.2, 0.45, 0.15, 0.12


def grown_figure(
    pair: WarpedPair, heap: Heap, motion: Matrix, *, closing_mm: float = CLOSING_MM
) -> tuple[BoxPx, BoxPx]:
    """Return the boxes of all that follows the motion and hangs together with the heap, before and after it."""
    k = pair.px_per_mm
    x0, y0, x1, y1 = solid_box(heap)
    around = _AROUND_MM * k
    left, top = max(0, int(x0 - around)), max(0, int(y0 - around))
    right, bottom = min(pair.size[0], int(x1 + around)), min(pair.size[1], int(y1 + around))
    here: Matrix = np.array([[1, 0, left], [0, 1, top], [0, 0, 1]], np.float64)
    size = (right - left, bottom - top)
    moved = fetch_field(pair.zb, motion @ here, size)
    mine, stays = pair.za[top:bottom, left:right], pair.zb[top:bottom, left:right]
    follows = likeness(mine, moved, k)
    marked = (np.abs(mine) > _LINE) & (follows > _FOLLOWS) & (follows > likeness(mine, stays, k) + _FOLLOWS_MORE)
    marked[np.clip(heap.rows - top, 0, size[1] - 1), np.clip(heap.columns - left, 0, size[0] - 1)] = True
    side = 2 * round(closing_mm * k / 2) + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_RECT, (side, side))
    joined = cv2.morphologyEx(marked.astype(np.uint8), cv2.MORPH_CLOSE, kernel)
    _, labels = cv2.connectedComponents(joined, connectivity=8)
    own = np.bincount(labels[np.clip(heap.rows - top, 0, size[1] - 1), np.clip(heap.columns - left, 0, size[0] - 1)])
    rows, columns = np.nonzero(marked & (labels == int(np.argmax(own))))
    old = solid_box(Heap(rows + top, columns + left, heap.mass_mm))
    corners = np.array([[old[i], old[j], 1.0] for i in (0, 2) for j in (1, 3)])
    points = np.stack([columns + left, rows + top, np.ones(len(rows))], 1) if len(rows) else corners
    after = points @ motion.T
    low, high = np.percentile(after[:, :2], 1.5, 0), np.percentile(after[:, :2], 98.5, 0)
    return old, (float(low[0]), float(low[1]), float(high[0]) + 1, float(high[1]) + 1)


def likeness(mine: Complexes, other: Complexes, k: float) -> Floats32:
    """Return the local correlation of two fields of one frame (-1..1)."""
    sigma = _BLUR_MM * k
    both = cv2.GaussianBlur((mine * np.conj(other)).real.astype(np.float32), (0, 0), sigma)
    power = [cv2.GaussianBlur((np.abs(z) ** 2).astype(np.float32), (0, 0), sigma) for z in (mine, other)]
    return np.asarray(both / np.sqrt(np.maximum(power[0] * np.maximum(power[1], 0.15 * power[0]), 1e-8)), np.float32)
