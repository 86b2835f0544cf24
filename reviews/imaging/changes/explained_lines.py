"""How much of what has no counterpart a supposed motion of a figure explains, on either side.

A correlation alone is easily had: crumbs of line shrink onto anything. A figure that truly turned or grew takes its
loose lines with it onto loose lines of the other version, and those are then explained in turn. The same motion, set
aside by a few mm, says what of that is chance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import BoxPx, Complexes, Floats32, Matrix
from reviews.imaging.changes.fields import fetch_field, turn_of
from reviews.imaging.changes.strokes import FAINT, Unmatched, ridges
from reviews.imaging.changes.warp import WarpedPair

_BINS = 8
_NEAR_MM, _MOST_LOOSE = 0.7, 2.0  # a line this near one of like direction lies on it, times the hand's looseness
_ASIDE_MM = 3.5  # where what falls together by chance is counted
_ASIDES = ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))
_SOME_MM = 4.0  # of line: shares of less mean little

EXPLAINED_FEATURES = (
    "explained_old",  # share of the loose lines in the old box that the motion lays on lines of the new version
    "explained_new",  # and of those in the new box, the way back
    "chance_old",  # the same shares with the motion set a little aside
    "chance_new",
    "follows",  # of all lines in the old box, loose or not, that the motion lays on lines
    "stays",  # of all lines in the old box that have a counterpart as they are
    "loose_old",  # log of the mm of loose line in either box
    "loose_new",
    "alike",  # correlation of the old box with what the motion brings there
    "alike_more",  # the same less that of staying, or of shifting with the middle
)


@dataclass(frozen=True, eq=False)
class _Lines:
    """The lines of one version, to be asked whether a point with a direction lies on one of them."""

    z: Complexes
    ridge: NDArray[np.bool_]
    loose: Floats32
    near_px: int

    @cached_property
    def by_direction(self) -> NDArray[np.uint8]:
        """Per bin of the doubled angle: where a line of that direction or a neighbouring one is near."""
        faint = ridges(self.z, FAINT)
        rows, columns = np.nonzero(faint)
        of = _bin(np.angle(self.z[rows, columns]))
        kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * self.near_px + 1,) * 2)
        out = np.zeros((_BINS, *self.z.shape), np.uint8)
        for k in range(_BINS):
            like = (of - k + 1) % _BINS <= 2
            out[k][rows[like], columns[like]] = 1
            out[k] = cv2.dilate(out[k], kernel)
        return out

    def within(self, box: BoxPx) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return rows and columns of the lines in a box."""
        height, width = self.ridge.shape
        x0, y0 = max(0, int(box[0])), max(0, int(box[1]))
        x1, y1 = min(width, int(np.ceil(box[2]))), min(height, int(np.ceil(box[3])))
        rows, columns = np.nonzero(self.ridge[y0:y1, x0:x1])
        return rows + y0, columns + x0


def _bin(angle: NDArray[np.floating]) -> NDArray[np.int64]:
    return np.asarray(np.floor((angle + np.pi) / (2 * np.pi) * _BINS) % _BINS, np.int64)


class ExplainedLines:
    """Both versions' lines, made ready once for all the motions that are tried on a pair."""

    def __init__(self, pair: WarpedPair, unmatched: Unmatched) -> None:
        near = max(1, round(_NEAR_MM * min(pair.looseness, _MOST_LOOSE) * pair.px_per_mm))
        self._k, self._pair = pair.px_per_mm, pair
        self._a = _Lines(pair.za, unmatched.ridges_a, unmatched.a, near)
        self._b = _Lines(pair.zb, unmatched.ridges_b, unmatched.b, near)

    def by(self, motion: Matrix, old: BoxPx, new: BoxPx) -> Mapping[str, float]:
        """Say what a motion (3 x 3, working px of A) explains of the lines in a figure's old and new box."""
        there, all_there = self._shares(self._a, self._b, motion, old)
        back, _ = self._shares(self._b, self._a, np.asarray(np.linalg.inv(motion), np.float64), new)
        at = self._a.within(old)
        weight = self._a.loose[at]
        return {
            "explained_old": there[0],
            "explained_new": back[0],
            "chance_old": there[1],
            "chance_new": back[1],
            "follows": all_there,
            "stays": 1 - float(weight.sum()) / max(1.0, len(weight)),
            "loose_old": float(np.log1p(weight.sum() / self._k)),
            "loose_new": float(np.log1p(self._b.loose[self._b.within(new)].sum() / self._k)),
            **self._likeness(motion, old),
        }

    def _likeness(self, motion: Matrix, old: BoxPx) -> dict[str, float]:
        """Correlate the old box with the new version by the motion, as it lies, and as merely shifted."""
        width, height = self._pair.size
        left, top = max(0, int(old[0])), max(0, int(old[1]))
        size = max(3, min(width, int(old[2]) + 1) - left), max(3, min(height, int(old[3]) + 1) - top)
        mine = self._pair.za[top : top + size[1], left : left + size[0]]
        middle = np.array([left + size[0] / 2, top + size[1] / 2, 1.0])
        dx, dy = (motion @ middle - middle)[:2]
        shift: Matrix = np.array([[1, 0, dx], [0, 1, dy], [0, 0, 1]], np.float64)
        seen = [_correlation(mine, self._pair.zb, way, left, top) for way in (motion, np.eye(3), shift)]
        return {"alike": seen[0], "alike_more": seen[0] - max(seen[1:])}

    def _shares(self, mine: _Lines, other: _Lines, motion: Matrix, box: BoxPx) -> tuple[tuple[float, float], float]:
        """Return the share of loose lines laid on lines, the same by chance, and the share of all lines."""
        rows, columns = mine.within(box)
        if not len(rows):
            return (0.0, 0.0), 0.0
        weight = mine.loose[rows, columns]
        total = float(weight.sum()) + _SOME_MM * self._k
        at = np.stack([columns, rows, np.ones(len(rows))], 1) @ motion[:2].T
        of = _bin(np.angle(mine.z[rows, columns] * np.exp(2j * turn_of(motion))))
        hit = _is_on(other, at, of)
        by_chance = [
            float((weight * _is_on(other, at + _ASIDE_MM * self._k * np.array(way), of)).sum()) / total
            for way in _ASIDES
        ]
        share = float((weight * hit).sum()) / total
        return (share, float(np.mean(by_chance))), float(hit.mean())


def _correlation(mine: Complexes, other: Complexes, way: Matrix, left: int, top: int) -> float:
    here: Matrix = np.array([[1, 0, left], [0, 1, top], [0, 0, 1]], np.float64)
    theirs = fetch_field(other, way @ here, (mine.shape[1], mine.shape[0]))
    power = float((np.abs(mine) ** 2).sum()) * float((np.abs(theirs) ** 2).sum())
    return float((mine * np.conj(theirs)).real.sum()) / float(np.sqrt(max(power, 1e-9)))


def _is_on(lines: _Lines, at: NDArray[np.float64], of: NDArray[np.int64]) -> NDArray[np.bool_]:
    height, width = lines.ridge.shape
    x, y = np.round(at[:, 0]).astype(int), np.round(at[:, 1]).astype(int)
    inside = (x >= 0) & (x < width) & (y >= 0) & (y < height)
    out = np.zeros(len(at), bool)
    out[inside] = lines.by_direction[of[inside], y[inside], x[inside]] > 0
    return out
