"""Which of the found places are worth a person's look: a score per place, learnt on tuning pairs.

Hatching, new inner lines and vanished construction lines are real but unwanted; lines that paint does not repeat
even more so. How much of the drawing in the place changed, and between which kinds of pictures, tells them apart.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from reviews.imaging.changes.colours import Paint
from reviews.imaging.changes.regions import FoundRegion, overlap_of_smaller
from reviews.imaging.changes.scores import Score
from reviews.imaging.changes.strokes import Unmatched
from reviews.imaging.changes.warp import WarpedPair

METHOD = "judged-logistic 4"
# What is known of a place, in the order of the vector; the weights below name them.
FEATURES = (
    "mass",  # log of the mm of line without a counterpart
    "share",  # of the lines in the place that have no counterpart
    "fill",  # log of that line to the side of the place
    "is_moved",  # what the place is called, 0 or 1 each
    "is_changed",
    "is_removed",
    "is_added",
    "area",  # log of the mm2 of the place
    "is_without_line",  # only paint differs, 0 or 1
    "paint_area_both",  # log of the mm2 that differ in paint, where both are painted
    "paint_difference_both",  # by how much, in 20 Lab units, where both are painted
    "to_paint",  # only the new one is painted, 0 or 1
    "both_painted",  # 0 or 1; and the mass in each of the two cases
    "mass_to_paint",
    "mass_both_painted",
    "looseness",  # of the hand, 1 to 3
    "removed_to_paint",  # lines gone under paint
    "added_dry",  # lines new where neither is painted
    "same_dry",  # one medium, neither painted; with mass and share
    "mass_same_dry",
    "share_same_dry",
    "paint_strength",  # log of how far the paint differs beyond what is shown at least; with its area
    "paint_strength_by_area",
    "paint_share",  # of the place that is painted differently
    "lines_without_paint",  # both painted, and only lines differ
)
# Printed by `python -m tests.bench.changes_fit`, apart for versions in one medium (where a detail counts, and the paint
# speaks) and for all others; what is not named weighs nothing. What is kept was chosen by leaving seeds out in turn.
# test_changes.py and test_colours.py move with them.
ACROSS = Score(
    FEATURES,
    {
        "mass": 1.027,
        "share": 4.819,
        "fill": 1.438,
        "is_moved": 1.534,
        "is_changed": 0.163,
        "is_removed": -1.555,
        "is_added": -0.264,
        "area": 0.78,
        "to_paint": -0.689,
        "mass_to_paint": 0.074,
        "looseness": -1.851,
        "removed_to_paint": 0.233,
        "added_dry": -1.829,
    },
    bias=-13.94,
    least=0.6,
)
# At 0.55 a quarter of the details were ranked away; at 0.4 a fifth, and none of the pairs without edits shows more.
SAME = Score(
    FEATURES,
    {
        "mass": 0.192,
        "share": -1.562,
        "fill": 1.096,
        "is_moved": -0.272,
        "is_changed": -1.152,
        "is_removed": 2.402,
        "is_added": -0.761,
        "area": 0.81,
        "is_without_line": 0.752,
        "paint_area_both": -0.274,
        "paint_difference_both": -0.027,
        "both_painted": -0.899,
        "mass_both_painted": -0.01,
        "added_dry": 0.147,
        "same_dry": 0.899,
        "mass_same_dry": 0.229,
        "share_same_dry": 0.316,
        "paint_strength": 1.307,
        "paint_strength_by_area": 0.121,
        "paint_share": 1.989,
        "lines_without_paint": 0.264,
    },
    bias=-6.495,
    least=0.4,
)
MOST_SHOWN = 12
# From this on a place is not nothing, though it may be too unsure to be shown as changed: as long as there is one,
# nobody may be told that nothing was found.
FAINT = 0.2
_DETAIL_MM2 = 150.0
_SAME_PLACE = 0.3  # of the smaller box: then the two are about one thing


def features(pair: WarpedPair, unmatched: Unmatched, paint: Paint, region: FoundRegion) -> dict[str, float]:
    """Return what is known of a place, by the names of `FEATURES`."""
    k, painted = pair.px_per_mm, paint.painted
    x0, y0, x1, y1 = (max(0, round(v)) for v in region.box)
    cut = np.s_[y0 : max(y0 + 1, y1), x0 : max(x0 + 1, x1)]
    lines = float(unmatched.ridges_a[cut].sum() + unmatched.ridges_b[cut].sum()) / k
    loose = float(unmatched.a[cut].sum() + unmatched.b[cut].sum()) / k
    area = (region.box[2] - region.box[0]) * (region.box[3] - region.box[1]) / k**2
    mass, share = np.log1p(region.mass_mm), loose / (lines + 5)
    to_paint, both = float(painted[1] and not painted[0]), float(painted[0] and painted[1])
    dry = float(not painted[0] and not painted[1])
    same_dry = dry * float(paint.is_same_medium)
    is_called = {f"is_{label}": float(region.label == label) for label in ("moved", "changed", "removed", "added")}
    return {
        "mass": mass,
        "share": share,
        "fill": np.log1p(region.mass_mm / np.sqrt(area + 1)),
        **is_called,
        "area": np.log1p(area),
        "is_without_line": float(region.mass_mm == 0),
        "paint_area_both": np.log1p(region.paint_mm2) * both,
        "paint_difference_both": region.difference / 20 * both,
        "to_paint": to_paint,
        "both_painted": both,
        "mass_to_paint": mass * to_paint,
        "mass_both_painted": mass * both,
        "looseness": pair.looseness,
        "removed_to_paint": is_called["is_removed"] * to_paint,
        "added_dry": is_called["is_added"] * dry,
        "same_dry": same_dry,
        "mass_same_dry": mass * same_dry,
        "share_same_dry": share * same_dry,
        **_of_paint(region, area, both),
    }


def _of_paint(region: FoundRegion, area: float, both: float) -> dict[str, float]:
    """Return how strong the paint's difference is, with its area, its share of the place; or the lines without any."""
    strength, painted = 0.0, region.paint_mm2 > 0
    if painted:
        strength = float(np.log(max(region.difference, 6.0) / 6))
    return {
        "paint_strength": strength,
        "paint_strength_by_area": strength * float(np.log1p(region.paint_mm2)),
        "paint_share": min(1.0, region.paint_mm2 / area) if painted else 0.0,
        "lines_without_paint": 0.0 if painted else both * (1 + float(np.log1p(region.mass_mm))),
    }


@dataclass(frozen=True, eq=False)
class Ranked:
    """Places with their scores: those worth showing, heaviest first, and the faint ones, surest first."""

    shown: tuple[tuple[FoundRegion, float], ...]
    unsure: tuple[tuple[FoundRegion, float], ...]


def rank_regions(
    pair: WarpedPair, unmatched: Unmatched, paint: Paint, regions: list[FoundRegion], pieces: list[FoundRegion]
) -> Ranked:
    """Judge every place, and each piece that went into one: a figure may be lost in a place that is no place."""
    score = SAME if paint.is_same_medium else ACROSS

    def judged(some: list[FoundRegion]) -> list[tuple[FoundRegion, float]]:
        return [(_named(one), score.of(features(pair, unmatched, paint, one))) for one in some]

    places = judged(regions)
    shown = sorted(
        (place for place in places if place[1] >= score.least),
        key=lambda r: -(r[0].mass_mm + np.sqrt(r[0].paint_mm2)),
    )[:MOST_SHOWN]
    unsure: list[tuple[FoundRegion, float]] = []
    for one in sorted(places + judged(pieces), key=lambda r: -r[1]):
        told = [*shown, *unsure]
        if one[1] >= FAINT and all(overlap_of_smaller(one[0].box, other.box) <= _SAME_PLACE for other, _ in told):
            unsure.append(one)
    return Ranked(tuple(shown), tuple(unsure[:MOST_SHOWN]))


def _named(region: FoundRegion) -> FoundRegion:
    """Call a small patch without lines of its own a detail: an eye, a label."""
    is_detail = region.label == "colour" and region.paint_mm2 < _DETAIL_MM2
    return replace(region, label="detail") if is_detail else region
