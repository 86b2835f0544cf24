"""What the comparison says about one pair of known truth, beside what simpler methods say, as plain values."""

from __future__ import annotations

import time
from typing import Any

import numpy as np

from reviews.geometry import Box, Point, Region
from reviews.imaging.changes.comparing import compare
from reviews.imaging.changes.findings import FoundChange, TransferredNote
from reviews.imaging.changes.regions import overlap_of_smaller
from tests.bench.changes_baselines import MmBox, baseline_errors, differences
from tests.drawing_pairs import Edit, Pair, Recipe, make_pair
from tests.drawing_truth import Pin, corner_error, counted, hits, pins, still_share
from tests.drawings import apply


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
    spots = [_spot(c, pair, edits) for c in found.changes]
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
            {
                "kind": e.kind,
                "far": float(np.hypot(*e.shift_mm)),
                "area": e.area_mm2,
                "size": _longest(e),
                "found": i in reached,
                "named": any(i in s["edits"] and is_named_so(s["name"], e.kind) for s in spots),
                "noticed": is_noticed(e, _boxes_mm((*found.changes, *found.unsure), pair.width_mm, height_mm)),
            }
            for i, e in enumerate(edits)
        ],
        "media": found.media,
        "n_unsure": len(found.unsure),
        "said": [remark.code for remark in found.remarks],
        "pins": [_carried(pair, p, n) for p, n in zip(placed, found.notes, strict=True)],
    }
    if baselines:
        row["baselines"] = {**baseline_errors(pair), **differences(pair, placed, edits)}
    return row


def _with_pins(recipe: Recipe) -> tuple[Pair, list[Pin]]:
    pair = make_pair(recipe)
    return pair, pins(pair)


def _region(pin: Pin, width_mm: float, height_mm: float) -> Region:
    x0, y0, x1, y1 = pin.box
    return Region("box", (Point(x0 / width_mm, y0 / height_mm), Point(x1 / width_mm, y1 / height_mm)))


def _mm(box: Box | None, width_mm: float, height_mm: float) -> tuple[float, float, float, float] | None:
    return box and (box.x0 * width_mm, box.y0 * height_mm, box.x1 * width_mm, box.y1 * height_mm)


# What a place is called, and what may have been done there for that name to be right. "changed" claims nothing.
LEAST_TURN_DEG, LEAST_RESIZE = 4.5, 0.025  # under this no turn and no size is told
NEAR_MM, SAME_SIZE, SAME_TURN_DEG = 2.0, 0.09, 6.0  # what is told with the name is right within this
NAMES = {"moved": {"move"}, "turned": {"rotate"}, "resized": {"scale"}, "removed": {"remove"}, "added": {"add"}}


def is_named_so(name: str, kind: str) -> bool:
    return kind in NAMES.get(name, ())


def name_of(change: FoundChange) -> str:
    """Return the name a place is given on screens; what was both turned and resized is named by what is more."""
    if change.label != "changed":
        return change.label
    turned, resized = abs(change.turn_deg) / LEAST_TURN_DEG, abs(float(np.log(change.scale))) / LEAST_RESIZE
    if max(turned, resized) < 1:
        return "changed"
    return "turned" if turned > resized else "resized"


def is_named_right(name: str, change: FoundChange, pair: Pair, edits: list[Edit]) -> bool:
    """Whether a name is right of one of the edits hit, and so is what is said with it: how far, by how much."""
    for edit in (e for e in edits if is_named_so(name, e.kind)):
        motion = pair.motions.get(edit.ident)
        if name in ("removed", "added") or motion is None:
            return True
        scale, turn = float(np.hypot(*motion[:2, 0])), float(np.rad2deg(np.arctan2(motion[1, 0], motion[0, 0])))
        off_mm = np.hypot(*np.subtract(change.vector_mm or edit.shift_mm, edit.shift_mm))
        is_shape = abs(np.log(change.scale / scale)) < SAME_SIZE and abs(change.turn_deg - turn) < SAME_TURN_DEG
        if is_shape and off_mm < NEAR_MM:
            return True
    return False


def _spot(change: FoundChange, pair: Pair, edits: list[Edit]) -> dict[str, Any]:
    height_mm = pair.width_mm * pair.a.shape[0] / pair.a.shape[1]
    old, new = (_mm(b, pair.width_mm, height_mm) for b in (change.old_on_a, change.new_on_a))
    hit = [i for i, e in enumerate(edits) if hits(old, new, e)]
    vector = change.vector_mm
    off = [
        float(np.hypot(vector[0] - edits[i].shift_mm[0], vector[1] - edits[i].shift_mm[1]))
        for i in hit
        if vector and edits[i].kind == "move"
    ]
    name = name_of(change)
    return {
        "label": change.label,
        "score": change.score,
        "edits": hit,
        "vector_error": min(off, default=None),
        "name": name,
        "is_named_right": is_named_right(name, change, pair, [edits[i] for i in hit]),
    }


def _longest(edit: Edit) -> float:
    """Return the longest visible side of what was edited, in mm."""
    return max(max(b[2] - b[0], b[3] - b[1]) for b in (edit.old_box, edit.new_box) if b)


def _boxes_mm(places: tuple[FoundChange, ...], width_mm: float, height_mm: float) -> list[MmBox]:
    boxes = (_mm(b, width_mm, height_mm) for place in places for b in (place.old_on_a, place.new_on_a))
    return [b for b in boxes if b]


def is_noticed(edit: Edit, places: list[MmBox]) -> bool:
    """Whether any place, shown or unsure, shares three tenths of the smaller box with what was edited."""
    return any(overlap_of_smaller(b, place) > 0.3 for b in (edit.old_box, edit.new_box) if b for place in places)


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
