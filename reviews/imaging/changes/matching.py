"""Correlation of pieces of orientation fields, and where its peak lies between the pixels.

Fields, masks and weights are (rows, columns) at one size. An answer has one value, up to 1, for each place of the
piece's top left pixel in the other: (other rows - piece rows + 1, other columns - piece columns + 1).
"""

from __future__ import annotations

import cv2
import numpy as np

from reviews.imaging.arrays import Complexes, Floats32
from reviews.imaging.changes.fields import two_channels

_EMPTY = 0.15  # the other side's power counts as at least this share of the piece's: emptiness must not score


def correlation(part: Complexes, other: Complexes, mask: Floats32) -> Floats32:
    """Return the correlation of `part` at every place of `other`, normed by the power of both under the mask."""
    raw = cv2.matchTemplate(two_channels(other), two_channels(part), cv2.TM_CCORR)
    power = cv2.matchTemplate((np.abs(other) ** 2).astype(np.float32), mask, cv2.TM_CCORR)
    mine = float((np.abs(part) ** 2).sum())
    return np.asarray(raw / np.sqrt(np.maximum(power, _EMPTY * mine) * max(mine, 1e-9)), np.float32)


def box_correlation(window: Complexes, part: Complexes) -> Floats32:
    """Return the correlation of the part with every place of the window, normed by the power of both."""
    raw = cv2.matchTemplate(two_channels(window), two_channels(part), cv2.TM_CCORR)
    power = cv2.boxFilter((np.abs(window) ** 2).astype(np.float32), -1, part.shape[::-1], normalize=False)
    top, left = part.shape[0] // 2, part.shape[1] // 2
    power = power[top : top + raw.shape[0], left : left + raw.shape[1]]
    mine = float((np.abs(part) ** 2).sum())
    return np.asarray(raw / np.sqrt(np.maximum(power, _EMPTY * mine + 1e-6) * max(mine, 1e-9)), np.float32)


def weighted_correlation(part: Complexes, other: Complexes, weight: Floats32) -> Floats32:
    """Return the correlation of `part` at every place of `other`, each pixel of the part counting by its weight."""
    raw = cv2.matchTemplate(two_channels(other), two_channels((part * weight).astype(np.complex64)), cv2.TM_CCORR)
    power = cv2.matchTemplate((np.abs(other) ** 2).astype(np.float32), weight, cv2.TM_CCORR)
    mine = float((weight * np.abs(part) ** 2).sum())
    return np.asarray(raw / np.sqrt(np.maximum(power, _EMPTY * mine + 1e-6) * max(mine, 1e-9)), np.float32)


def cut_out(z: Complexes, left: int, top: int, width: int, height: int) -> Complexes:
    """Return (height, width) of the field from `left` and `top`, in px; beyond its border it is 0."""
    out = np.zeros((height, width), np.complex64)
    x0, y0, x1, y1 = max(0, left), max(0, top), min(z.shape[1], left + width), min(z.shape[0], top + height)
    if x1 > x0 and y1 > y0:
        out[y0 - top : y1 - top, x0 - left : x1 - left] = z[y0:y1, x0:x1]
    return out


def peak_fraction(found: Floats32, row: int, column: int) -> tuple[float, float]:
    """Return the sub-pixel step of a peak by a parabola per axis; none at the rim."""
    if not (0 < row < found.shape[0] - 1 and 0 < column < found.shape[1] - 1):
        return 0.0, 0.0
    here = float(found[row, column])
    left, right = float(found[row, column - 1]), float(found[row, column + 1])
    up, down = float(found[row - 1, column]), float(found[row + 1, column])
    x = 0.5 * (left - right) / min(-1e-6, left + right - 2 * here)
    y = 0.5 * (up - down) / min(-1e-6, up + down - 2 * here)
    return float(np.clip(x, -0.5, 0.5)), float(np.clip(y, -0.5, 0.5))
