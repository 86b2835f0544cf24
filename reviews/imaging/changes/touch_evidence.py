"""Whether anything was drawn differently where a note points: evidence whose error rates stand in `measured.py`.

A logistic score over what the unmatched lines, the running-along evidence and the correlation say about the place
and, between two versions in the same medium, how much of it was painted differently.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import BoxPx
from reviews.imaging.changes.colours import Paint
from reviews.imaging.changes.findings import Evidence, Verdict
from reviews.imaging.changes.regions import FoundRegion, overlap_of_smaller
from reviews.imaging.changes.scores import Score
from reviews.imaging.changes.transfer import Ground, TransferredBox

METHOD = "touched-logistic 3"
# What is seen in a place, in the order of the vector.
FEATURES = (
    "lines_a_loose",  # share of A's line that has no counterpart
    "lines_b_loose",  # the same of B's
    "lines_loose",  # the same of both together
    "along_a",  # how well anything of B runs along A's lines, -1 to 1
    "along_b",  # the same of A along B's
    "likeness",  # correlation of the two fields in the place
    "gain",  # how much better the place is matched where it was followed to
    "loose_a",  # log of the mm of A's line without a counterpart
    "loose_b",  # the same of B's
    "dense",  # mm of such line per mm2 where they lie densest, up to 0.5
    "line",  # log of the mm of line in the place
    "painted_share",  # of the place that is painted differently
    "painted_area",  # log of the mm2 of it
    "place",  # the best score of a place that covers it, less where it covers under half of it
    "place_by_overlap",  # the best of score times the share of the smaller that both have in common
)
# Between the two nothing is claimed.
TOUCHED, UNTOUCHED = 0.5, 0.1
# Printed by `python -m tests.bench.changes_fit` (tuning seeds, under 100).
SCORE = Score(
    FEATURES,
    {
        "lines_a_loose": 0.685,
        "lines_b_loose": -0.446,
        "lines_loose": -1.35,
        "along_a": -1.417,
        "along_b": 0.941,
        "likeness": -2.396,
        "gain": 8.494,
        "loose_a": 0.392,
        "loose_b": 0.218,
        "dense": 0.683,
        "line": -1.19,
        "painted_share": -0.42,
        "painted_area": 3.019,
        "place": 3.731,
        "place_by_overlap": 1.285,
    },
    bias=-0.774,
    least=TOUCHED,
)
_LEAST_LINE_MM = 8.0  # with less line than this in the place nothing can be said


@dataclass(frozen=True, eq=False)
class AtNotes:
    """What is asked about every note: both versions, where their paint differs, and all places that may be one."""

    ground: Ground
    paint: Paint
    traces: Sequence[tuple[FoundRegion, float]]


def features(at: AtNotes, box: BoxPx, transferred: TransferredBox) -> dict[str, float]:
    """Return what was seen in the box (px of A's working frame), by the names of `FEATURES`."""
    pair, un = at.ground.pair, at.ground.unmatched
    k = pair.px_per_mm
    x0, y0, x1, y1 = (max(0, round(v)) for v in box)
    cut = np.s_[y0 : max(y0 + 1, y1), x0 : max(x0 + 1, x1)]
    lines = [float(r[cut].sum()) / k for r in (un.ridges_a, un.ridges_b)]
    loose = [float(w[cut].sum()) / k for w in (un.a, un.b)]
    along = [_mean(e[cut], r[cut]) for e, r in ((un.evidence_a, un.ridges_a), (un.evidence_b, un.ridges_b))]
    za, zb = pair.za[cut], pair.zb[cut]
    norm = float(np.sqrt((np.abs(za) ** 2).sum() * (np.abs(zb) ** 2).sum()))
    ncc = float((za * np.conj(zb)).real.sum()) / max(norm, 1e-6)
    patch = cv2.GaussianBlur(np.maximum(un.a[cut], un.b[cut]), (0, 0), max(0.5, 2.0 * k))
    dense = float(patch.max()) * k
    gain = max(0.0, transferred.match - transferred.match_at_rest) if transferred.is_followed else 0.0
    return {
        "lines_a_loose": loose[0] / (lines[0] + 3),
        "lines_b_loose": loose[1] / (lines[1] + 3),
        "lines_loose": sum(loose) / (sum(lines) + 6),
        "along_a": along[0],
        "along_b": along[1],
        "likeness": ncc,
        "gain": gain,
        "loose_a": np.log1p(loose[0]),
        "loose_b": np.log1p(loose[1]),
        "dense": min(dense, 0.5),
        "line": np.log1p(sum(lines)) / 5,
        **_painted_over(box, at.paint, k),
        **_places_over(box, at.traces),
    }


def _places_over(box: BoxPx, traces: Sequence[tuple[FoundRegion, float]]) -> dict[str, float]:
    """Return how surely a place that may be a change covers the box; of its old and its new box the better."""
    covered = overlapped = 0.0
    area = max(1e-9, (box[2] - box[0]) * (box[3] - box[1]))
    for region, score in traces:
        for place in (region.old, region.new):
            if not place:
                continue
            of_smaller = overlap_of_smaller(box, place)
            shared = of_smaller * min(area, (place[2] - place[0]) * (place[3] - place[1])) / area
            covered = max(covered, score * min(1.0, 2 * shared))
            overlapped = max(overlapped, score * of_smaller)
    return {"place": covered, "place_by_overlap": overlapped}


def _mean(values: NDArray[np.float32], where: NDArray[np.bool_]) -> float:
    return float(values[where].mean()) if where.any() else 1.0


def _painted_over(box: BoxPx, paint: Paint, k: float) -> dict[str, float]:
    """Return the share of the box that was painted differently, and the log of the mm2 of it."""
    area = paint.mm2_in(box)
    share = area / max(1.0, (box[2] - box[0]) * (box[3] - box[1]) / k**2)
    return {"painted_share": min(1.0, share), "painted_area": float(np.log1p(area)) / 5}


def evidence(at: AtNotes, box: BoxPx, transferred: TransferredBox) -> Evidence:
    """Say of one place whether anything was drawn differently there."""
    ground = at.ground
    seen = features(at, box, transferred)
    score = SCORE.of(seen)
    x0, y0, x1, y1 = (max(0, round(v)) for v in box)
    un = ground.unmatched
    line_mm = float(un.ridges_a[y0:y1, x0:x1].sum() + un.ridges_b[y0:y1, x0:x1].sum()) / ground.pair.px_per_mm
    verdict: Verdict = "touched" if score >= TOUCHED else "untouched" if score <= UNTOUCHED else "cannot-tell"
    if line_mm < _LEAST_LINE_MM:
        verdict = "cannot-tell"
    return Evidence(verdict, score, float(seen["lines_loose"]), line_mm)
