"""Which of the found places are worth a person's look: a score per place, learnt on tuning pairs.

Hatching, new inner lines and vanished construction lines are real but unwanted; lines that paint does not repeat
even more so. How much of the drawing in the place changed, and between which kinds of pictures, tells them apart.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from reviews.imaging.arrays import Floats64
from reviews.imaging.changes.colours import Paint
from reviews.imaging.changes.regions import Spot
from reviews.imaging.changes.strokes import Unmatched
from reviews.imaging.changes.warp import Laid

METHOD = "judged-logistic 3"
LABELS = ("moved", "changed", "removed", "added")
# Printed by `python -m tests.bench.changes_fit`, apart for versions in one medium (where a detail counts, and the paint
# speaks) and for all others; inputs as `features` gives them. What is kept was chosen by leaving seeds out in turn.
# test_changes.py and test_colours.py move with them.
_ACROSS: Floats64 = np.array(
    [
        1.027,
        4.819,
        1.438,
        1.534,
        0.163,
        -1.555,
        -0.264,
        0.78,
        0,
        0,
        0,
        -0.689,
        0,
        0.074,
        0,
        -1.851,
        0.233,
        -1.829,
        0,
        0,
        0,
        0,
        0,
        0,
        0,
    ]
)
_ACROSS_BIAS, _ACROSS_KEPT = -13.94, 0.6
_SAME: Floats64 = np.array(
    [
        0.192,
        -1.562,
        1.096,
        -0.272,
        -1.152,
        2.402,
        -0.761,
        0.81,
        0.752,
        -0.274,
        -0.027,
        0,
        -0.899,
        0,
        -0.01,
        0,
        0,
        0.147,
        0.899,
        0.229,
        0.316,
        1.307,
        0.121,
        1.989,
        0.264,
    ]
)
# At 0.55 a quarter of the details were judged away; at 0.4 a fifth, and none of the pairs without edits shows more.
_SAME_BIAS, _SAME_KEPT = -6.495, 0.4
MOST_SHOWN = 12
_DETAIL_MM2 = 150.0


def features(laid: Laid, unmatched: Unmatched, paint: Paint, spot: Spot) -> Floats64:
    """Return what is known of a place, twenty-five numbers."""
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
    return np.array([*plain, *paints, *rest, *_of_paint(spot, area, both)])


def _of_paint(spot: Spot, area: float, both: float) -> tuple[float, float, float, float]:
    """Return how strong the paint's difference is, with its area, its share of the place; or the lines without any."""
    if spot.paint_mm2 == 0:
        return 0.0, 0.0, 0.0, both * (1 + float(np.log1p(spot.mass_mm)))
    strength = float(np.log(max(spot.difference, 6.0) / 6))
    return strength, strength * float(np.log1p(spot.paint_mm2)), min(1.0, spot.paint_mm2 / area), 0.0


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
