"""What the comparison says about one pair of known truth, beside what simpler methods say, as plain values."""

from __future__ import annotations

import time
from typing import Any

import cv2
import numpy as np

from reviews.geometry import Box, Point, Region
from reviews.imaging.changes.comparing import compare
from reviews.imaging.changes.findings import FoundChange, TransferredNote
from tests.drawing_pairs import Pair, Recipe, make_pair
from tests.drawing_truth import Pin, corner_error, counted, hits, pins, still_share
from tests.drawings import apply

BASE_PX = 1200


def measure(recipe: Recipe, *, baselines: bool = False) -> dict[str, Any]:
    """Compare a pair with a note on every pin and hold all of it against the truth."""
    pair, placed = _with_pins(recipe)
    height_mm = pair.width_mm * pair.a.shape[0] / pair.a.shape[1]
    notes = [_region(p, pair.width_mm, height_mm) for p in placed]
    started = time.process_time()
    found = compare(pair.a, pair.b, pair.width_mm, notes)
    seconds = time.process_time() - started
    readings = [corner_error(pair, r.a_to_b_px) for r in found.alignment.readings]
    edits = counted(pair)
    spots = [_spot(c, pair.width_mm, height_mm, edits) for c in found.changes]
    reached = {i for s in spots for i in s["edits"]}
    row = {
        "kind": recipe.kind,
        "seed": recipe.seed,
        "state": found.alignment.state,
        "error": readings[0] if readings else 1.0,
        "errors": readings,
        "seconds": seconds,
        "redraw_mm": found.redraw_mm,
        "apart_mm": pair.apart_mm,
        "still_share": still_share(pair),
        "n_edits": len(pair.edits),
        "spots": spots,
        "edits": [
            {"kind": e.kind, "far": float(np.hypot(*e.shift_mm)), "area": e.area_mm2, "found": i in reached}
            for i, e in enumerate(edits)
        ],
        "pins": [_carried(pair, p, n) for p, n in zip(placed, found.notes, strict=True)],
    }
    if baselines:
        row["baselines"] = {**baseline_errors(pair), **_difference(pair, placed, edits)}
    return row


def _with_pins(recipe: Recipe) -> tuple[Pair, list[Pin]]:
    pair = make_pair(recipe)
    return pair, pins(pair)


def _region(pin: Pin, width_mm: float, height_mm: float) -> Region:
    x0, y0, x1, y1 = pin.box
    return Region("box", (Point(x0 / width_mm, y0 / height_mm), Point(x1 / width_mm, y1 / height_mm)))


def _mm(box: Box | None, width_mm: float, height_mm: float) -> tuple[float, float, float, float] | None:
    return box and (box.x0 * width_mm, box.y0 * height_mm, box.x1 * width_mm, box.y1 * height_mm)


def _spot(change: FoundChange, width_mm: float, height_mm: float, edits: list[Any]) -> dict[str, Any]:
    old, new = (_mm(b, width_mm, height_mm) for b in (change.old_on_a, change.new_on_a))
    hit = [i for i, e in enumerate(edits) if hits(old, new, e)]
    vector = change.vector_mm
    off = [
        float(np.hypot(vector[0] - edits[i].shift_mm[0], vector[1] - edits[i].shift_mm[1]))
        for i in hit
        if vector and edits[i].kind == "move"
    ]
    return {"label": change.label, "score": change.score, "edits": hit, "vector_error": min(off, default=None)}


def _carried(pair: Pair, pin: Pin, note: TransferredNote) -> dict[str, Any]:
    error = global_error = None
    if pin.centre_after is not None:
        want = apply(pair.b_to_px, np.array([pin.centre_after]))[0]
        error, global_error = (_off(pair, want, r) for r in (note.on_b, note.by_page))
    return {
        "kind": pin.kind,
        "changed": pin.changed_share,
        "error_mm": error,
        "by_page_mm": global_error,
        "state": note.state,
        "score": note.evidence.score,
        "verdict": note.evidence.verdict,
    }


def _off(pair: Pair, want: Any, region: Region) -> float:
    px_per_mm = float(np.hypot(pair.b_to_px[0, 0], pair.b_to_px[1, 0]))
    at = np.array([region.centre.x * pair.b.shape[1] - 0.5, region.centre.y * pair.b.shape[0] - 0.5])
    return float(np.hypot(*(at - want)) / px_per_mm)


def baseline_errors(pair: Pair) -> dict[str, float]:
    """Return the corner errors of alignments anyone would try first, on grey pictures of 1200 px."""
    fa, fb = (BASE_PX / max(p.shape[:2]) for p in (pair.a, pair.b))
    a, b = (
        cv2.resize(cv2.cvtColor(p, cv2.COLOR_RGB2GRAY), None, fx=f, fy=f, interpolation=cv2.INTER_AREA)
        for p, f in ((pair.a, fa), (pair.b, fb))
    )
    found = {"none": np.eye(3), "ecc": _ecc(a, b), "phase": _phase(a, b), "orb": _orb(a, b)}
    up, down = np.diag([1 / fb, 1 / fb, 1]), np.diag([fa, fa, 1])
    return {name: corner_error(pair, tuple((up @ m @ down)[:2].ravel())) for name, m in found.items()}


def _ecc(a: Any, b: Any) -> Any:
    """Return the affine map of one ECC run from identity, at half the size: single scale is the point of it."""
    warp = np.eye(2, 3, dtype=np.float32)
    stop = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 60, 1e-5)
    small = [cv2.resize(p, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA) for p in (a, b)]
    try:
        _, warp = cv2.findTransformECC(small[0], small[1], warp, cv2.MOTION_AFFINE, stop, None, 5)
    except cv2.error:  # it throws where it does not converge
        return np.eye(3)
    half = np.array([[0.5, 0, -0.25], [0, 0.5, -0.25], [0, 0, 1]])
    return np.linalg.inv(half) @ np.vstack([warp, [0, 0, 1]]) @ half


def _phase(a: Any, b: Any) -> Any:
    h, w = min(a.shape[0], b.shape[0]), min(a.shape[1], b.shape[1])
    one, two = (np.ascontiguousarray(p[:h, :w], np.float64) for p in (a, b))
    shift, _ = cv2.phaseCorrelate(one, two, cv2.createHanningWindow((w, h), cv2.CV_64F))
    return np.array([[1, 0, shift[0]], [0, 1, shift[1]], [0, 0, 1]])


def _orb(a: Any, b: Any) -> Any:
    orb = cv2.ORB_create(2000)
    (ka, da), (kb, db) = orb.detectAndCompute(a, None), orb.detectAndCompute(b, None)
    if da is None or db is None:
        return np.eye(3)
    pairs = cv2.BFMatcher(cv2.NORM_HAMMING, crossCheck=True).match(da, db)
    if len(pairs) < 4:
        return np.eye(3)
    src, dst = (
        np.array([k[i].pt for k, i in ends], np.float32)
        for ends in ([(ka, m.queryIdx) for m in pairs], [(kb, m.trainIdx) for m in pairs])
    )
    matrix, _ = cv2.estimateAffinePartial2D(src, dst, method=cv2.RANSAC, ransacReprojThreshold=3)
    return np.eye(3) if matrix is None else np.vstack([matrix, [0, 0, 1]])


def _difference(pair: Pair, placed: list[Pin], edits: list[Any]) -> dict[str, Any]:
    """Return what the grey difference says with the true alignment given to it for nothing."""
    f = BASE_PX / pair.a.shape[1]
    k, size = f / pair.mm_per_px, (BASE_PX, round(pair.a.shape[0] * f))
    grow = np.diag([f, f, 1])
    a = cv2.cvtColor(cv2.resize(pair.a, size, interpolation=cv2.INTER_AREA), cv2.COLOR_RGB2GRAY)
    to_b = (pair.a_to_b @ np.linalg.inv(grow))[:2]
    b = cv2.warpAffine(
        cv2.cvtColor(pair.b, cv2.COLOR_RGB2GRAY), to_b, size, flags=cv2.INTER_AREA | cv2.WARP_INVERSE_MAP
    )
    apart = cv2.GaussianBlur(cv2.absdiff(a, b), (0, 0), 2)
    _, mask = cv2.threshold(apart, 0, 255, cv2.THRESH_OTSU)
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((15, 15), np.uint8))
    _, _, stats, _ = cv2.connectedComponentsWithStats(mask)
    boxes = [(x / k, y / k, (x + w) / k, (y + h) / k) for x, y, w, h, n in stats[1:] if n > (4 * k) ** 2]
    hit = [[i for i, e in enumerate(edits) if hits(box, box, e)] for box in boxes]
    means = [
        float(apart[int(p.box[1] * k) : int(p.box[3] * k) + 1, int(p.box[0] * k) : int(p.box[2] * k) + 1].mean())
        for p in placed
    ]
    return {"difference_spots": hit, "difference_pins": means}
