"""Whether anything was drawn differently where a note points: evidence with known error rates.

A logistic score over what the unmatched lines, the running-along evidence and the correlation say about the place
and, between two versions in the same medium, how much of it was painted differently.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import BoxPx, Floats64
from reviews.imaging.changes.colours import Paint
from reviews.imaging.changes.findings import Evidence
from reviews.imaging.changes.transfer import Carried, Ground

METHOD = "touched-logistic 2"
# Printed by `python -m tests.bench.changes_fit` (tuning seeds, under 100); inputs as `features` gives them.
_WEIGHTS: Floats64 = np.array(
    [2.976, 1.262, 0.093, 0.395, -0.79, -1.751, 5.781, 0.434, 0.28, 1.316, -1.394, 8.091, 3.736]
)
_BIAS = -1.39
# Between the two nothing is claimed.
TOUCHED, UNTOUCHED = 0.5, 0.1
# Measured by tests/bench/changes.py on 220 pairs of made drawings never looked at before (seeds 252-271, 6793 notes,
# AUC 0.985).
RATES = (
    "On test drawings 90 in 100 changed places were called changed and 3 in 100 unchanged; "
    "of the unchanged places 1 in 100 was called changed."
)
_LEAST_LINE_MM = 8.0  # with less line than this in the place nothing can be said


def features(ground: Ground, box: BoxPx, carried: Carried, paint: Paint) -> Floats64:
    """Return what was seen in the box (px of A's working frame), thirteen numbers."""
    laid, un = ground.laid, ground.unmatched
    k = laid.px_per_mm
    x0, y0, x1, y1 = (max(0, round(v)) for v in box)
    cut = np.s_[y0 : max(y0 + 1, y1), x0 : max(x0 + 1, x1)]
    lines = [float(r[cut].sum()) / k for r in (un.ridges_a, un.ridges_b)]
    loose = [float(w[cut].sum()) / k for w in (un.a, un.b)]
    along = [_mean(e[cut], r[cut]) for e, r in ((un.evidence_a, un.ridges_a), (un.evidence_b, un.ridges_b))]
    za, zb = laid.za[cut], laid.zb[cut]
    norm = float(np.sqrt((np.abs(za) ** 2).sum() * (np.abs(zb) ** 2).sum()))
    ncc = float((za * np.conj(zb)).real.sum()) / max(norm, 1e-6)
    patch = cv2.GaussianBlur(np.maximum(un.a[cut], un.b[cut]), (0, 0), max(0.5, 2.0 * k))
    dense = float(patch.max()) * k
    gain = max(0.0, carried.match - carried.match_at_rest) if carried.is_followed else 0.0
    return np.array(
        [
            loose[0] / (lines[0] + 3),
            loose[1] / (lines[1] + 3),
            sum(loose) / (sum(lines) + 6),
            along[0],
            along[1],
            ncc,
            gain,
            np.log1p(loose[0]),
            np.log1p(loose[1]),
            min(dense, 0.5),
            np.log1p(sum(lines)) / 5,
            *_painted_over(box, paint, k),
        ]
    )


def _mean(values: NDArray[np.float32], where: NDArray[np.bool_]) -> float:
    return float(values[where].mean()) if where.any() else 1.0


def _painted_over(box: BoxPx, paint: Paint, k: float) -> tuple[float, float]:
    """Return the share of the box that was painted differently, and the log of the mm2 of it."""
    area = 0.0
    for patch in paint.patches:
        w = min(box[2], patch.box[2]) - max(box[0], patch.box[0])
        h = min(box[3], patch.box[3]) - max(box[1], patch.box[1])
        whole = (patch.box[2] - patch.box[0]) * (patch.box[3] - patch.box[1])
        if w > 0 and h > 0:
            area += patch.area_mm2 * w * h / whole
    share = area / max(1.0, (box[2] - box[0]) * (box[3] - box[1]) / k**2)
    return min(1.0, share), float(np.log1p(area)) / 5


def evidence(ground: Ground, box: BoxPx, carried: Carried, paint: Paint) -> Evidence:
    """Judge one place."""
    seen = features(ground, box, carried, paint)
    score = float(1 / (1 + np.exp(-(seen @ _WEIGHTS + _BIAS))))
    x0, y0, x1, y1 = (max(0, round(v)) for v in box)
    un = ground.unmatched
    line_mm = float(un.ridges_a[y0:y1, x0:x1].sum() + un.ridges_b[y0:y1, x0:x1].sum()) / ground.laid.px_per_mm
    verdict = "touched" if score >= TOUCHED else "untouched" if score <= UNTOUCHED else "cannot-tell"
    if line_mm < _LEAST_LINE_MM:
        verdict = "cannot-tell"
    return Evidence(verdict, score, float(seen[2]), line_mm)
