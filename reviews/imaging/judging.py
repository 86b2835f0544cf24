"""Which of the found places are worth a person's look: a score per place, learnt on tuning pairs.

Hatching, new inner lines and vanished construction lines are real but unwanted; lines that paint does not repeat
even more so. How much of the drawing in the place changed, and between which kinds of pictures, tells them apart.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from reviews.imaging.changes import Spot
from reviews.imaging.colours import Paint
from reviews.imaging.laid import Laid
from reviews.imaging.strokes import Unmatched

Floats = NDArray[np.float64]

METHOD = "judged-logistic 1"
LABELS = ("moved", "changed", "removed", "added")
# Fitted by tests/bench/changes_fit.py on tuning seeds under 100, apart for versions in one medium (where a detail
# counts, and the paint speaks) and for all others; inputs as `features` gives them. test_changes.py moves with them.
_ACROSS: Floats = np.array([
    0.82, 2.67, 1.439, 0.562, -0.303, -0.17, -0.095, 0.764, 0, 0, 0, -0.537, 0, 0.118, 0, -2.212, -0.835, -1.568,
    0, 0, 0,
])
_ACROSS_BIAS, _ACROSS_KEPT = -11.651, 0.45
_SAME: Floats = np.array([
    0.136, 1.363, 0.332, -0.641, -0.091, 1.394, -0.919, 0.592, 0.476, 0.107, 0.899, 0, -0.897, 0, 0.018, 0, 0, 1.093,
    0.897, 0.249, -1.988,
])
_SAME_BIAS, _SAME_KEPT = -5.195, 0.55
MOST_SHOWN = 12
_DETAIL_MM2 = 150.0


def features(laid: Laid, unmatched: Unmatched, paint: Paint, spot: Spot) -> Floats:
    """Return what is known of a place, twenty-one numbers."""
    k, painted = laid.px_per_mm, paint.painted
    x0, y0, x1, y1 = (max(0, round(v)) for v in spot.box)
    cut = np.s_[y0 : max(y0 + 1, y1), x0 : max(x0 + 1, x1)]
    lines = float(unmatched.ridges_a[cut].sum() + unmatched.ridges_b[cut].sum()) / k
    loose = float(unmatched.a[cut].sum() + unmatched.b[cut].sum()) / k
    area = (spot.box[2] - spot.box[0]) * (spot.box[3] - spot.box[1]) / k**2
    mass, label = np.log1p(spot.mass_mm), [float(spot.label == name) for name in LABELS]
    share = loose / (lines + 5)
    to_paint, both = float(painted[1] and not painted[0]), float(painted[0] and painted[1])
    dry = float(not painted[0] and not painted[1])
    same_dry = dry * float(paint.is_same_medium)
    fill, bare = np.log1p(spot.mass_mm / np.sqrt(area + 1)), float(spot.mass_mm == 0)
    plain = [mass, share, fill, *label, np.log1p(area), bare]
    painting = [np.log1p(spot.paint_mm2) * both, spot.difference / 20 * both]
    paints = [*painting, to_paint, both, mass * to_paint, mass * both]
    rest = [laid.looseness, label[2] * to_paint, label[3] * dry, same_dry, mass * same_dry, share * same_dry]
    return np.array([*plain, *paints, *rest])


def judge(laid: Laid, unmatched: Unmatched, paint: Paint, spots: list[Spot]) -> list[tuple[Spot, float]]:
    """Return the places worth showing with their scores, heaviest first."""
    weights, bias, kept = _ACROSS, _ACROSS_BIAS, _ACROSS_KEPT
    if paint.is_same_medium:
        weights, bias, kept = _SAME, _SAME_BIAS, _SAME_KEPT
    judged = []
    for spot in spots:
        seen = features(laid, unmatched, paint, spot)
        score = float(1 / (1 + np.exp(-(seen @ weights + bias))))
        if score >= kept:
            judged.append((_named(spot), score))
    return sorted(judged, key=lambda j: -(j[0].mass_mm + np.sqrt(j[0].paint_mm2)))[:MOST_SHOWN]


def _named(spot: Spot) -> Spot:
    """Call a small patch without lines of its own a detail: an eye, a label."""
    is_detail = spot.label == "colour" and spot.paint_mm2 < _DETAIL_MM2
    return replace(spot, label="detail") if is_detail else spot
