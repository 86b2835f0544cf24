"""Look for a set of strokes of A elsewhere in B, by correlation of the orientation field."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import Complexes, Floats32
from reviews.imaging.changes.fields import reduced
from reviews.imaging.changes.matching import correlation, cut_out, peak_fraction
from reviews.imaging.changes.warp import WarpedPair

_REACH_MM, _USUAL_MM = 60.0, 30.0  # beyond the usual distance a find must be better, up to a tenth more alike
_FAR_EXTRA = 0.1
_LEAST_NCC, _LEAST_GAIN, _LEAST_LANDED = 0.45, 0.12, 0.6
_OLD_LINE_WEIGHT = 0.3  # strokes of B that already have a counterpart count this much as a landing place
_LEAST_MOVE_MM = 1.2


@dataclass(frozen=True)
class TemplateMatch:
    dx: float  # px of A's working frame
    dy: float
    ncc: float
    ncc_at_rest: float
    landed: float


def search_strokes(
    pair: WarpedPair, rows: NDArray[np.int64], columns: NDArray[np.int64], weight_a: Floats32, weight_b: Floats32
) -> TemplateMatch | None:
    """Return where the strokes (ridge pixels of A) went in B within 60 mm, or None if they did not plainly move."""
    k = pair.px_per_mm
    x0, y0 = max(0, int(columns.min()) - 3), max(0, int(rows.min()) - 3)
    x1, y1 = min(pair.size[0], int(columns.max()) + 4), min(pair.size[1], int(rows.max()) + 4)
    mine = np.zeros((y1 - y0, x1 - x0), np.float32)
    mine[rows - y0, columns - x0] = weight_a[rows, columns]
    mine = np.asarray(cv2.dilate(mine, np.ones((3, 3), np.uint8)), np.float32)
    part = (pair.za[y0:y1, x0:x1] * mine).astype(np.complex64)
    reach = round(_REACH_MM * k)
    other = _window(pair.zb, weight_b, x0 - reach, y0 - reach, x1 + reach, y1 + reach)
    dx, dy = _half_size_peak(part, other, reach)
    return _settled(pair, part, other, mine, reach, (dx, dy))


def _window(zb: Complexes, weight_b: Floats32, x0: int, y0: int, x1: int, y1: int) -> Complexes:
    """Return B's lines in the (possibly overhanging) window, unmatched ones at full weight."""
    fresh = np.maximum(cv2.dilate(weight_b, np.ones((3, 3), np.uint8)), _OLD_LINE_WEIGHT)
    return cut_out((zb * fresh).astype(np.complex64), x0, y0, x1 - x0, y1 - y0)


def _half_size_peak(part: Complexes, other: Complexes, reach: int) -> tuple[int, int]:
    small, around = reduced(part, 0.5), reduced(other, 0.5)
    mask = (np.abs(small) > 0.02).astype(np.float32)
    found = correlation(small, around, mask)
    row, column = divmod(int(np.argmax(found)), found.shape[1])
    return 2 * column - reach, 2 * row - reach


def _settled(
    pair: WarpedPair, part: Complexes, other: Complexes, mine: Floats32, reach: int, at: tuple[int, int]
) -> TemplateMatch | None:
    """Refine to a fraction of a pixel and decide."""
    mask = (mine > 0.25).astype(np.float32)
    near = 4
    x, y = reach + at[0] - near, reach + at[1] - near
    height, width = part.shape
    x, y = (
        int(np.clip(x, 0, other.shape[1] - width - 2 * near)),
        int(np.clip(y, 0, other.shape[0] - height - 2 * near)),
    )
    found = correlation(part, other[y : y + height + 2 * near, x : x + width + 2 * near], mask)
    row, column = divmod(int(np.argmax(found)), found.shape[1])
    sub_x, sub_y = peak_fraction(found, row, column)
    dx, dy = x + column - reach + sub_x, y + row - reach + sub_y
    rest = float(correlation(part, other[reach : reach + height, reach : reach + width], mask)[0, 0])
    landing = other[y + row : y + row + height, x + column : x + column + width]
    along = (part * np.conj(landing)).real > 0.15 * np.abs(part) * 0.3
    landed = float((along & (mask > 0)).sum() / max(1.0, float(mask.sum())))
    match = TemplateMatch(dx, dy, float(found[row, column]), rest, landed)
    far = np.hypot(dx, dy) / pair.px_per_mm
    least = _LEAST_NCC + _FAR_EXTRA * max(0.0, (far - _USUAL_MM) / (_REACH_MM - _USUAL_MM))
    is_move = match.ncc > least and match.ncc > rest + _LEAST_GAIN and landed > _LEAST_LANDED
    return match if is_move and far > _LEAST_MOVE_MM * max(1.0, 0.7 * pair.looseness) else None
