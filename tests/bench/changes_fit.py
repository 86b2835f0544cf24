"""Fit the logistic scores (places worth a look, touched notes) on tuning seeds and print their weights.

`python -m tests.bench.changes_fit` prints weights, and in how many of the samples they call the same as those that
ranking.py and touch_evidence.py hold. It takes six seeds of each part of the plan, about a minute of one core for each;
`python -m tests.bench.changes_fit COUNT` takes so many instead. With five, 99 in 100 were called the same.
All the seeds lie under 100: those from 200 on are for reporting.
"""

from __future__ import annotations

import sys
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.changes import ranking, touch_evidence
from reviews.imaging.changes.colours import find_paint_changes
from reviews.imaging.changes.fields import prepare
from reviews.imaging.changes.pieces import find_pieces, gather
from reviews.imaging.changes.registration import align
from reviews.imaging.changes.strokes import find_unmatched
from reviews.imaging.changes.transfer import Ground, transfer_box
from reviews.imaging.changes.warp import warp_pair
from tests.drawing_pairs import KINDS, Recipe, make_pair
from tests.drawing_truth import counted, hits, pins

# First seed, kinds, and what is special. Details and new colours are rare in ordinary pairs, versions in one medium
# are few, and without a freer hand nothing would be known of it.
ONE_MEDIUM = ("full>full", "line>line", "flats>flats")
PLAN: tuple[tuple[int, tuple[str, ...], dict[str, Any]], ...] = (
    (20, KINDS, {}),
    (30, ("sketch>ink", "sketch>full"), {"wobble": 3.0}),
    (40, ONE_MEDIUM, {}),
    (50, ONE_MEDIUM, {}),
    (60, ONE_MEDIUM, {"n_edits": 4, "edit_kind": "detail"}),
    (80, ("full>full", "flats>flats"), {"n_edits": 4, "edit_kind": "recolour"}),
)
SEEDS, MOST_SEEDS = 6, 10
_LEAST_SPREAD = 0.1
KEPT = {
    "ranking, across media": ranking.ACROSS,
    "ranking, same medium": ranking.SAME,
    "touched": touch_evidence.SCORE,
}
NOTES_OF_EACH = 3  # one note of so many: following them is most of the work
Samples = list[tuple[NDArray[np.float64], bool]]


def samples(recipe: Recipe) -> dict[str, Samples]:
    """Return what ranking (in one medium, across media) and touched see on one pair, each with the truth."""
    drawn = make_pair(recipe)
    a, b = prepare(drawn.a), prepare(drawn.b)
    found = align(a, b)
    if not found.is_usable:
        return {}
    full = np.vstack([np.reshape(found.readings[0].a_to_b_px, (2, 3)), [0, 0, 1]])
    k = a.factor / drawn.mm_per_px
    pair = warp_pair(a, b, b.to_work @ full @ np.linalg.inv(a.to_work), k)
    unmatched, paint = find_unmatched(pair), find_paint_changes(pair)
    pieces = find_pieces(pair, unmatched, paint)
    moves = tuple((s.old, s.vector_mm[0] * k, s.vector_mm[1] * k) for s in pieces if s.old and s.vector_mm)
    edits, ground = counted(drawn), Ground(pair, unmatched, moves)

    def mm(box: Any) -> Any:
        return box and tuple(v / k for v in box)

    places = [
        (
            ranking.ACROSS.vector(ranking.features(pair, unmatched, paint, s)),
            any(hits(mm(s.old), mm(s.new), e) for e in edits),
        )
        for s in gather(pieces, pair, paint)
    ]
    notes = []
    for pin in pins(drawn)[recipe.seed % NOTES_OF_EACH :: NOTES_OF_EACH]:
        if 0.005 <= pin.changed_share <= 0.1:
            continue
        box = tuple(v * k - 0.5 for v in pin.box)
        seen = touch_evidence.features(ground, box, transfer_box(ground, box), paint)
        notes.append((touch_evidence.SCORE.vector(seen), pin.changed_share > 0.1))
    return {"ranking, same medium" if paint.is_same_medium else "ranking, across media": places, "touched": notes}


def fit(rows: Samples, *, ridge: float = 3e-3) -> tuple[NDArray[np.float64], float]:
    """Return weights and bias of a ridge-regularised logistic regression, by Newton's method.

    What hardly varied among the samples is held to little weight: elsewhere it may be far from what it was here.
    """
    x, y = np.array([r[0] for r in rows]), np.array([r[1] for r in rows], float)
    mean, spread = x.mean(0), np.maximum(x.std(0), _LEAST_SPREAD)
    z = np.column_stack([(x - mean) / spread, np.ones(len(x))])
    pull = ridge * len(x) * np.eye(z.shape[1])
    pull[-1, -1] = 1e-9
    w = np.zeros(z.shape[1])
    for _ in range(50):
        p = 1 / (1 + np.exp(-np.clip(z @ w, -30, 30)))
        bend = (z * (p * (1 - p))[:, None]).T @ z + pull
        w -= np.linalg.solve(bend, z.T @ (p - y) + pull @ w)
    weights = np.where(x.std(0) > 1e-6, w[:-1] / spread, 0.0)
    return weights, float(w[-1] - (weights * mean).sum())


def same_calls(name: str, rows: Samples, weights: NDArray[np.float64], bias: float) -> float:
    """Return the share of the samples that these weights and the kept ones put on the same side of what is shown."""
    kept = KEPT[name]
    x, cut = np.array([r[0] for r in rows]), float(np.log(kept.least / (1 - kept.least)))
    return float(((x @ weights + bias >= cut) == (x @ kept.weight_vector + kept.bias >= cut)).mean())


def as_source(name: str, weights: NDArray[np.float64], bias: float) -> str:
    """Write fitted weights as they stand in ranking.py and touch_evidence.py; what weighs nothing is not named."""
    features = zip(KEPT[name].features, (round(float(w), 3) for w in weights), strict=True)
    named = "".join(f'        "{feature}": {weight},\n' for feature, weight in features if weight)
    return f"    {{\n{named}    }},\n    bias={round(bias, 3)},"


def main() -> None:
    cv2.setNumThreads(1)
    count = min(MOST_SEEDS, int(sys.argv[1])) if len(sys.argv) > 1 else SEEDS
    seen: dict[str, Samples] = {}
    for first, kinds, special in PLAN:
        for seed in range(first, first + count):
            for kind in kinds:
                for name, rows in samples(Recipe(kind, seed, **special)).items():
                    seen[name] = seen.get(name, []) + rows
    for name, rows in seen.items():
        weights, bias = fit(rows)
        print(f"{name}, {len(rows)} samples:\n{as_source(name, weights, bias)}")
        print(f"  called the same as by what is kept: {same_calls(name, rows, weights, bias):.3f}")


if __name__ == "__main__":
    main()
