"""How much of each version the other one shows: what lies outside the part they share was compared with nothing."""

from __future__ import annotations

import numpy as np

from reviews.imaging.arrays import Bools, Matrix
from reviews.imaging.changes.fields import PreparedPicture, inside_mask
from reviews.imaging.changes.findings import Coverage, Outside
from reviews.imaging.changes.strokes import STRONG, ridges

_LEAST_STRIP = 0.015  # of a side: a strip narrower than that is no crop but the scanner's edge
_LEAST_LINE_PX = 30  # with less line in it a picture is empty, and shares of its lines mean nothing


def coverage(a: PreparedPicture, b: PreparedPicture, a_to_b: Matrix) -> Coverage:
    """Say what each of two pictures laid on each other shows that the other does not.

    ``a_to_b`` maps working pixels of A to those of B (3 x 3).
    """
    return Coverage(
        of_a=_outside(a, inside_mask(b.size, a_to_b, a.size)),
        of_b=_outside(b, inside_mask(a.size, np.asarray(np.linalg.inv(a_to_b), np.float64), b.size)),
    )


def _outside(picture: PreparedPicture, shared: Bools) -> Outside:
    lines = ridges(picture.field.z, STRONG)
    n_lines = int(lines.sum())
    left, top, right, bottom = _strips(shared)
    return Outside(
        area=1 - float(shared.mean()),
        lines=float((lines & ~shared).sum()) / n_lines if n_lines > _LEAST_LINE_PX else 0.0,
        left=left,
        top=top,
        right=right,
        bottom=bottom,
    )


def _strips(shared: Bools) -> tuple[float, float, float, float]:
    """Return how wide the part that is not shared is at each side, as a share of the picture; 0 where it is narrow."""
    if not shared.any():
        return 1.0, 1.0, 1.0, 1.0
    ends = []
    for mask in (shared, shared.T):
        across = mask[mask.any(1)]
        first, last = across.argmax(1), across[:, ::-1].argmax(1)
        ends.append([float(np.median(end)) / mask.shape[1] for end in (first, last)])
    strips = ends[0][0], ends[1][0], ends[0][1], ends[1][1]
    left, top, right, bottom = (strip if strip >= _LEAST_STRIP else 0.0 for strip in strips)
    return left, top, right, bottom
