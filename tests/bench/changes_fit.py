"""Fit the logistic scores (places worth a look, touched notes) on tuning seeds and print their weights.

`python -m tests.bench.changes_fit` prints weights, and in how many of the samples they call the same as those that
place_weights.py and touch_evidence.py hold. It takes five seeds of each part of the plan, about a quarter of an hour of
one core; `python -m tests.bench.changes_fit COUNT` takes so many instead.
All the seeds lie under 100, and drawings by others are those set apart for tuning: what is measured is none of them.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.changes import touch_evidence
from reviews.imaging.changes.candidates import Candidate, find_candidates
from reviews.imaging.changes.colours import find_paint_changes
from reviews.imaging.changes.fields import prepare
from reviews.imaging.changes.pieces import find_pieces
from reviews.imaging.changes.place_evidence import Page, features_of
from reviews.imaging.changes.place_weights import HINT_LINES, HINT_PAINT, LINES, PAINT, SIMILAR
from reviews.imaging.changes.ranking import rank_candidates
from reviews.imaging.changes.regions import FoundRegion, overlap_of_smaller
from reviews.imaging.changes.registration import align
from reviews.imaging.changes.similar_figures import SimilarFigure, find_similar, joined_similar
from reviews.imaging.changes.strokes import find_unmatched
from reviews.imaging.changes.touch_evidence import AtNotes
from reviews.imaging.changes.transfer import Ground, transfer_box
from reviews.imaging.changes.warp import WarpedPair, warp_pair
from tests.drawing_pairs import KINDS, Edit, Pair, Recipe, make_pair
from tests.drawing_truth import Box, counted, iou, pins, union

ONE_MEDIUM = ("full>full", "line>line", "flats>flats")
PAINTED = ("full>full", "flats>full", "flats>flats")
FREE_HAND = ("sketch>ink", "sketch>full", "line>ink")
SEEDS, MOST_SEEDS = 5, 10
_LEAST_SPREAD = 0.05
KEPT = {
    "places, lines": LINES,
    "places, paint": PAINT,
    "hints, lines": HINT_LINES,
    "hints, paint": HINT_PAINT,
    "turned or resized": SIMILAR,
    "touched": touch_evidence.SCORE,
}
# How well a box must fit a change to count as right, and from which misfit on it counts as wrong; what lies between is
# left out. So the score prefers of several boxes about one change the one that fits.
RIGHT_WRONG = {"places, lines": (0.6, 0.4), "places, paint": (0.45, 0.3)}
# A hint is right with so much of its box inside a change, and wrong with less in common with any.
INSIDE, BESIDE = 0.7, 0.05
# A figure counts as rightly found turned or resized with its motion this well told and its box this well fitted; as
# wrongly with another motion, or with its box beside it.
SAME_SIZE, SAME_TURN_DEG, FIGURE_FITS, FIGURE_MISSED = 0.09, 6.0, 0.5, 0.3
FIGURES = 26  # rounds of `figure_plan`
NOTES_OF_EACH = 3  # one note of so many: following them is most of the work
Samples = list[tuple[NDArray[np.float64], bool]]
RIDGE, RIDGE_OF_FIGURES = 2e-3, 1e-2


def plan(count: int) -> Iterator[Recipe]:
    """Give the recipes, by our own figures and by others' in turn.

    Details, new colours, turned and resized figures are rare in ordinary pairs, versions in one medium are few, and
    without a freer hand and another desk nothing would be known of either.
    """
    arts = ("ours", "tuning")
    for r in range(count):
        mine, other = arts[r % 2], arts[1 - r % 2]
        for seed, art in ((20 + r, "ours"), (30 + r, "tuning")):
            for kind in KINDS:
                yield Recipe(kind, seed, art=art, has_small=r % 2 == 0, n_edits=5 if r % 2 == 0 else None)
        for kind in FREE_HAND:
            yield Recipe(kind, 50 + r, art=mine, wobble=3.0)
            yield Recipe(kind, 55 + r, art=other, wobble=2.0, figure_jitter=0.6)
        for kind in PAINTED:
            yield Recipe(kind, 40 + r, art=other, is_regraded=True)
        for kind in ONE_MEDIUM:
            yield Recipe(kind, 60 + r, art=mine, n_edits=4, edit_kind="detail")
        for kind in ("full>full", "flats>flats"):
            yield Recipe(kind, 80 + r, art=mine, n_edits=4, edit_kind="recolour")
        for i, kind in enumerate(KINDS):
            if (i + r) % 3 == 0:
                reshaped = ("rotate", "scale")[r % 2]
                art = arts[(i + r) % 2]
                yield Recipe(kind, 70 + r, art=art, n_edits=4, edit_kind=reshaped, has_small=bool(r % 2))


def figure_plan(rounds: int) -> Iterator[Recipe]:
    """Give pairs with most figures turned or resized; in between ordinary ones, free hands, other desks."""
    arts = ("ours", "tuning")
    for i in range(rounds):
        kind, r = KINDS[i % len(KINDS)], i // len(KINDS)
        art, reshaped = arts[(i + r) % 2], ("rotate", "scale")[(i // 2 + r) % 2]
        yield Recipe(kind, 10 + r % 10, art=art, n_edits=4, edit_kind=reshaped, has_small=r % 2 == 0)
        if i % 2 == 0:
            yield Recipe(
                kind,
                85 + r % 10,
                art=art,
                n_edits=5,
                has_small=r % 4 < 2,
                wobble=2.5 if i % 8 == 0 else 1.0,
                figure_jitter=0.6 if i % 12 == 0 else 0.0,
                is_regraded=i % 3 == 0 and kind in PAINTED,
            )


def figure_samples(recipe: Recipe) -> Samples:
    """Return what the score of turned and resized figures sees on one pair, with the truth."""
    drawn = make_pair(recipe)
    pair = _laid(drawn)
    if pair is None:
        return []
    unmatched, paint = find_unmatched(pair), find_paint_changes(pair)
    page, out = Page(pair, unmatched, paint, []), Samples()
    for found in joined_similar(find_similar(pair, unmatched)):
        region = FoundRegion(label="changed", old=found.old, new=found.new, mass_mm=found.mass_mm)
        right = _is_that_figure(drawn, found, pair.px_per_mm)
        if right is not None:
            out.append((SIMILAR.vector(features_of(page, Candidate(region, "similar", found))), right))
    return out


def _is_that_figure(drawn: Pair, found: SimilarFigure, k: float) -> bool | None:
    """Whether a find is what was done to the figure it lies best on; None where that is not clear."""
    mine = _mm(found.old, k), _mm(found.new, k)

    def fit_of(edit: Edit) -> float:
        theirs = (edit.old_box, edit.new_box, union(edit.old_box, edit.new_box))
        return max(iou(one, other) for one in (*mine, union(*mine)) for other in theirs)

    best = max(counted(drawn), key=fit_of, default=None)
    if best is None or fit_of(best) == 0 or best.kind not in ("rotate", "scale"):
        return False
    motion = drawn.motions[best.ident]
    scale, turn = float(np.hypot(*motion[:2, 0])), float(np.rad2deg(np.arctan2(motion[1, 0], motion[0, 0])))
    is_told = abs(np.log(found.scale / scale)) < SAME_SIZE and abs(found.turn_deg - turn) < SAME_TURN_DEG
    if not is_told or fit_of(best) < FIGURE_MISSED:
        return False
    return True if fit_of(best) >= FIGURE_FITS else None


def samples(recipe: Recipe) -> dict[str, Samples]:
    """Return what the scores of places and of notes see on one pair, each with the truth."""
    drawn = make_pair(recipe)
    pair = _laid(drawn)
    if pair is None:
        return {}
    k = pair.px_per_mm
    unmatched, paint = find_unmatched(pair), find_paint_changes(pair)
    pieces = find_pieces(pair, unmatched, paint)
    page = Page(pair, unmatched, paint, find_candidates(pair, unmatched, paint, pieces))
    out: dict[str, Samples] = {name: [] for name in KEPT}
    for candidate in (one for one in page.candidates if one.similar is None):
        region, seen = candidate.region, features_of(page, candidate)
        of = "lines" if region.mass_mm > 0 else "paint"
        boxes = tuple(b and _mm(b, k) for b in (region.old, region.new))
        fit, name = _best_fit(drawn, *boxes), f"places, {of}"
        right, wrong = RIGHT_WRONG[name]
        if fit >= right or fit < wrong:
            out[name].append((KEPT[name].vector(seen), fit >= right))
        inside, common = _on_a_change(drawn, boxes)
        if inside > INSIDE or common < BESIDE:
            out[f"hints, {of}"].append((KEPT[f"hints, {of}"].vector(seen), inside > INSIDE))
    moves = tuple((s.old, s.vector_mm[0] * k, s.vector_mm[1] * k) for s in pieces if s.old and s.vector_mm)
    at = AtNotes(Ground(pair, unmatched, moves), paint, rank_candidates(page).traces)
    for pin in pins(drawn)[recipe.seed % NOTES_OF_EACH :: NOTES_OF_EACH]:
        if 0.005 <= pin.changed_share <= 0.1:
            continue
        box = tuple(v * k - 0.5 for v in pin.box)
        seen = touch_evidence.features(at, box, transfer_box(at.ground, box))
        out["touched"].append((touch_evidence.SCORE.vector(seen), pin.changed_share > 0.1))
    return out


def _laid(drawn: Pair) -> WarpedPair | None:
    a, b = prepare(drawn.a), prepare(drawn.b)
    found = align(a, b)
    if not found.is_usable:
        return None
    full = np.vstack([np.reshape(found.readings[0].a_to_b_px, (2, 3)), [0, 0, 1]])
    return warp_pair(a, b, b.to_work @ full @ np.linalg.inv(a.to_work), a.factor / drawn.mm_per_px)


def _mm(box: Box, k: float) -> Box:
    return box[0] / k, box[1] / k, box[2] / k, box[3] / k


def _on_a_change(drawn: Pair, boxes: tuple[Box | None, ...]) -> tuple[float, float]:
    """Return at best how much of a place's box lies in a change, and how much of the smaller of both in the other."""
    inside = common = 0.0
    for mine in (b for b in boxes if b):
        for theirs in (b for e in counted(drawn) for b in (e.old_box, e.new_box) if b):
            of_smaller = overlap_of_smaller(mine, theirs)
            areas = [(b[2] - b[0]) * (b[3] - b[1]) for b in (mine, theirs)]
            inside = max(inside, of_smaller * min(areas) / max(1e-9, areas[0]))
            common = max(common, of_smaller)
    return inside, common


def _best_fit(drawn: Pair, old: Box | None, new: Box | None) -> float:
    """Return the best IoU of a place's old, new or joint box with those of any change."""
    mine = (old, new, union(old, new))
    theirs = [b for e in counted(drawn) for b in (e.old_box, e.new_box, union(e.old_box, e.new_box))]
    return max((iou(one, other) for one in mine for other in theirs), default=0.0)


def fit(rows: Samples, *, ridge: float = RIDGE) -> tuple[NDArray[np.float64], float]:
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
    """Write fitted weights as they stand in the source; what weighs nothing is not named."""
    features = zip(KEPT[name].features, (round(float(w), 3) for w in weights), strict=True)
    named = "".join(f'        "{feature}": {weight},\n' for feature, weight in features if weight)
    return f"    {{\n{named}    }},\n    bias={round(bias, 3)},"


def main() -> None:
    cv2.setNumThreads(1)
    count = min(MOST_SEEDS, int(sys.argv[1])) if len(sys.argv) > 1 else SEEDS
    seen: dict[str, Samples] = {name: [] for name in KEPT}
    for recipe in plan(count):
        for name, rows in samples(recipe).items():
            seen[name] += rows
    for recipe in figure_plan(FIGURES):
        seen["turned or resized"] += figure_samples(recipe)
    for name, rows in seen.items():
        weights, bias = fit(rows, ridge=RIDGE_OF_FIGURES if name == "turned or resized" else RIDGE)
        print(f"{name}, {len(rows)} samples:\n{as_source(name, weights, bias)}")
        print(f"  called the same as by what is kept: {same_calls(name, rows, weights, bias):.3f}")


if __name__ == "__main__":
    main()
