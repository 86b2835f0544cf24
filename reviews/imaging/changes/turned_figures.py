"""Pieces of one figure that was turned or resized, put together again.

Each piece was found to have moved its own way. Two of them fix a similarity; if its fixed point lies within the
figure they would make, they turned about it together. Two figures that moved each for itself hardly ever do.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np

from reviews.imaging.arrays import BoxPx
from reviews.imaging.changes.regions import FoundRegion, grown, overlap_of_smaller, union

# Chosen on tuning seeds: of turned figures 0.84 instead of 0.56 were then found as one place in one medium.
_LEAST_MASS_MM, _LIKE_MASS = 15.0, 5.0  # a figure's pieces weigh something, and none is the whole of it
_LEAST_APART_MM, _LEAST_UNLIKE_MM = 8.0, 4.0  # of the pieces' middles, and of their vectors
_FARTHEST_MM, _LARGEST_MM = 22.0, 140.0  # a piece goes no farther, a figure is no larger
_SCALES, _MOST_TURN_DEG = (0.62, 1.55), 30.0
_LEAST_TURN_DEG, _LEAST_RESIZE = 4.0, 0.06  # less than both is one vector, and joined as such
_OFF_MM, _AROUND_MM, _MIDDLE = 3.0, 15.0, 0.15


def join_turned(pieces: list[FoundRegion], px_per_mm: float) -> list[FoundRegion]:
    """Return the pieces with those that turned or grew together as one changed place each."""
    moved = [s for s in pieces if s.vector_mm and s.old and s.mass_mm >= _LEAST_MASS_MM]
    out = [s for s in pieces if s not in moved]
    while groups := [g for pair in combinations(moved, 2) if (g := _turned_together(*pair, moved, px_per_mm))]:
        best = max(groups, key=lambda group: (len(group), sum(s.mass_mm for s in group)))
        boxes = ([s.old for s in best if s.old], [s.new for s in best if s.new])
        mass_mm = sum(s.mass_mm for s in best)
        out.append(FoundRegion(label="changed", old=union(boxes[0]), new=union(boxes[1]), mass_mm=mass_mm))
        moved = [s for s in moved if s not in best]
    return out + moved


def _at(region: FoundRegion, px_per_mm: float) -> complex:
    x0, y0, x1, y1 = region.old or region.box
    return complex(x0 + x1, y0 + y1) / (2 * px_per_mm)


def _vector(region: FoundRegion) -> complex:
    return complex(*(region.vector_mm or (0.0, 0.0)))


def _turned_together(
    one: FoundRegion, other: FoundRegion, moved: list[FoundRegion], px_per_mm: float
) -> list[FoundRegion]:
    """Return the two and all others that follow the same turn about the same point; none if they did not turn."""
    apart, unlike = _at(other, px_per_mm) - _at(one, px_per_mm), _vector(other) - _vector(one)
    masses = sorted((one.mass_mm, other.mass_mm))
    if masses[1] > _LIKE_MASS * masses[0] or max(abs(_vector(one)), abs(_vector(other))) > _FARTHEST_MM:
        return []
    if abs(apart) < _LEAST_APART_MM or abs(unlike) < _LEAST_UNLIKE_MM:
        return []
    ratio = 1 + unlike / apart
    turn = abs(float(np.rad2deg(np.angle(ratio))))
    if not _SCALES[0] < abs(ratio) < _SCALES[1] or turn > _MOST_TURN_DEG:
        return []
    if turn < _LEAST_TURN_DEG and abs(abs(ratio) - 1) < _LEAST_RESIZE:
        return []
    middle = _at(one, px_per_mm) - _vector(one) / (ratio - 1)
    around = union([s.old for s in (one, other) if s.old])
    if not _is_within(middle * px_per_mm, around, px_per_mm):
        return []
    near = grown(around, _AROUND_MM * px_per_mm)

    def follows(s: FoundRegion) -> bool:
        off = abs((ratio - 1) * (_at(s, px_per_mm) - middle) - _vector(s))
        return off < _OFF_MM and s.old is not None and overlap_of_smaller(near, s.old) > 0.5

    return [s for s in moved if s is one or s is other or follows(s)]


def _is_within(point: complex, box: BoxPx, px_per_mm: float) -> bool:
    width, height = box[2] - box[0], box[3] - box[1]
    if np.hypot(width, height) > _LARGEST_MM * px_per_mm:
        return False
    x0, y0, x1, y1 = grown(box, _MIDDLE * max(width, height))
    return bool(x0 < point.real < x1 and y0 < point.imag < y1)
