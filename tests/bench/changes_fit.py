"""Fit the two logistic scores (places worth a look, touched notes) on tuning seeds and print their weights.

`python -m tests.bench.changes_fit FIRST COUNT`, seeds under 100 only: from 100 on they are for reporting.
"""

from __future__ import annotations

import sys
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging import judging, touched
from reviews.imaging.align import align
from reviews.imaging.carry import Ground, carry
from reviews.imaging.changes import find_spots
from reviews.imaging.colours import find_paint_changes
from reviews.imaging.fields import prepare
from reviews.imaging.laid import lay
from reviews.imaging.strokes import find_unmatched
from tests.drawing_pairs import KINDS, Recipe, make_pair
from tests.drawing_truth import counted, hits, pins

# Details and new colours are rare in ordinary pairs: some more of them, in the media where they can be seen.
EXTRA = (("full>full", "recolour"), ("flats>flats", "detail"), ("line>line", "detail"))
Samples = list[tuple[NDArray[np.float64], bool]]


def samples(recipe: Recipe) -> dict[str, Samples]:
    """Return what judging (in one medium, across media) and touched see on one pair, each with the truth."""
    pair = make_pair(recipe)
    a, b = prepare(pair.a), prepare(pair.b)
    found = align(a, b)
    if not found.is_usable:
        return {}
    full = np.vstack([np.reshape(found.readings[0].a_to_b_px, (2, 3)), [0, 0, 1]])
    k = a.factor / pair.mm_per_px
    laid = lay(a, b, b.to_work @ full @ np.linalg.inv(a.to_work), k)
    unmatched, paint = find_unmatched(laid), find_paint_changes(laid)
    edits, ground = counted(pair), Ground(laid, unmatched)

    def mm(box: Any) -> Any:
        return box and tuple(v / k for v in box)

    spots = [(judging.features(laid, unmatched, paint, s), any(hits(mm(s.old), mm(s.new), e) for e in edits))
             for s in find_spots(laid, unmatched, paint)]  # fmt: skip
    notes = []
    for pin in pins(pair):
        if 0.005 <= pin.changed_share <= 0.1:
            continue
        box = tuple(v * k - 0.5 for v in pin.box)
        notes.append((touched.features(ground, box, carry(ground, box), paint), pin.changed_share > 0.1))
    return {"judging, same medium" if paint.is_same_medium else "judging, across media": spots, "touched": notes}


def fit(rows: Samples, *, ridge: float = 3e-3) -> tuple[NDArray[np.float64], float]:
    """Return weights and bias of a ridge-regularised logistic regression, by Newton's method."""
    x, y = np.array([r[0] for r in rows]), np.array([r[1] for r in rows], float)
    mean, spread = x.mean(0), x.std(0) + 1e-6
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


def main() -> None:
    cv2.setNumThreads(1)
    first, count = int(sys.argv[1]), int(sys.argv[2])
    if first + count > 100:
        raise SystemExit("Seeds from 100 on are for reporting; fit on seeds under 100.")
    seen: dict[str, Samples] = {}
    plan = [Recipe(kind, seed) for seed in range(first, first + count) for kind in KINDS]
    plan += [
        Recipe(kind, seed, n_edits=3, edit_kind=edit) for seed in range(first, first + count) for kind, edit in EXTRA
    ]
    for recipe in plan:
        for name, rows in samples(recipe).items():
            seen[name] = seen.get(name, []) + rows
    for name, rows in seen.items():
        weights, bias = fit(rows, ridge=3e-3 if name == "touched" else 1e-2)
        print(name, len(rows), "samples:", [round(float(v), 3) for v in weights], round(bias, 3))


if __name__ == "__main__":
    main()
