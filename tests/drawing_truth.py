"""Measuring against the truth of a pair: corner error, boxes hit, pins on figures and where they should go."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.drawing_media import owners
from tests.drawing_pairs import TRUTH_PX_PER_MM, Box, Edit, Pair, box_of
from tests.drawings import Floats, apply


def corner_error(pair: Pair, a_to_b_px: tuple[float, ...]) -> float:
    """Return the mean distance of A's corners from where they should be, as a share of A's width."""
    found = np.vstack([np.array(a_to_b_px, float).reshape(2, 3), [0, 0, 1]])
    height, width = pair.a.shape[:2]
    corners = np.array([[0, 0, 1], [width - 1, 0, 1], [width - 1, height - 1, 1], [0, height - 1, 1]], float)
    apart = np.hypot(*((corners @ found.T - corners @ pair.a_to_b.T)[:, :2].T)).mean()
    return float(apart / (np.sqrt(np.linalg.det(pair.a_to_b[:2, :2])) * width))


def still_share(pair: Pair) -> float:
    """Return the share of A's figures that stand in B where and as they stood: what there is to lay it by."""
    idents = set(np.unique(pair.owners_a)) - {0}
    return sum(i in pair.motions and np.allclose(pair.motions[i], np.eye(3)) for i in idents) / max(1, len(idents))


def union(one: Box | None, other: Box | None) -> Box | None:
    if not one or not other:
        return one or other
    return min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3])


def iou(one: Box | None, other: Box | None) -> float:
    if not one or not other:
        return 0.0
    w, h = min(one[2], other[2]) - max(one[0], other[0]), min(one[3], other[3]) - max(one[1], other[1])
    if w <= 0 or h <= 0:
        return 0.0
    areas = [(b[2] - b[0]) * (b[3] - b[1]) for b in (one, other)]
    return w * h / (sum(areas) - w * h)


def hits(old: Box | None, new: Box | None, edit: Edit) -> bool:
    """Return whether a reported region (page mm) has an IoU over 0.3 with the edit's old, new or joint box."""
    truth = (edit.old_box, edit.new_box, union(edit.old_box, edit.new_box))
    return max(iou(mine, theirs) for mine in (old, new, union(old, new)) for theirs in truth) > 0.3


def counted(pair: Pair) -> list[Edit]:
    """Return the edits that can be seen at all: at least (4 mm)^2 visible on one of the two."""
    return [e for e in pair.edits if (e.old_box or e.new_box) and e.area_mm2 >= 16]


@dataclass(frozen=True)
class Pin:
    ident: int
    box: Box  # page mm on A
    kind: str  # still | moved | rotated | scaled | gone
    centre_after: tuple[float, float] | None  # page mm, where the subject's same spot is in B
    changed_share: float  # of the pin's area that belongs to an edit


KIND_OF = {"move": "moved", "rotate": "rotated", "scale": "scaled", "remove": "gone", "replace": "gone"}


def pins(pair: Pair) -> list[Pin]:
    """Return a pin on every figure that is at least half visible, and two on parts of it."""
    rng = np.random.default_rng([pair.recipe.seed, 5])
    kinds = {e.ident: KIND_OF.get(e.kind, "still") for e in pair.edits}
    k, out = TRUTH_PX_PER_MM, []
    for ident in sorted(set(np.unique(pair.owners_a)) - {0}):
        mask = pair.owners_a == ident
        box = box_of(mask)
        if box is None or box[2] - box[0] > 0.6 * pair.width_mm or mask.sum() < 100 * k * k:
            continue
        if ident in pair.motions and (pair.owners_b == ident).sum() < 0.5 * mask.sum():
            continue  # mostly hidden now: where it is seen is not defined
        rows, columns = np.nonzero(mask)
        boxes = [box]
        for _ in range(2):
            i, half = int(rng.integers(len(rows))), rng.uniform(6, 15, 2)
            x, y = columns[i] / k, rows[i] / k
            boxes.append((x - half[0], y - half[1], x + half[0], y + half[1]))
        out += [p for p in (_pin(pair, int(ident), b, kinds.get(int(ident), "still")) for b in boxes) if p]
    return out


def _pin(pair: Pair, ident: int, box: Box, kind: str) -> Pin | None:
    k = TRUTH_PX_PER_MM
    height = pair.owners_a.shape[0] / k
    box = max(0.0, box[0]), max(0.0, box[1]), min(pair.width_mm, box[2]), min(height, box[3])
    if box[2] - box[0] < 6 or box[3] - box[1] < 6:
        return None
    centre = np.array([[(box[0] + box[2]) / 2, (box[1] + box[3]) / 2]])
    motion = pair.motions.get(ident)
    after = apply(motion, centre)[0] if motion is not None else None
    corners: Floats = np.array([(box[i], box[j]) for i in (0, 2) for j in (1, 3)])
    for at in (corners, corners if motion is None else apply(motion, corners)):
        on_b = apply(pair.b_to_px, at)
        if (on_b < 0).any() or (on_b > (pair.b.shape[1], pair.b.shape[0])).any():
            return None
    part = pair.changed[int(box[1] * k) : int(box[3] * k), int(box[0] * k) : int(box[2] * k)]
    return Pin(ident, box, kind, None if after is None else (float(after[0]), float(after[1])), float(part.mean()))


__all__ = ["Pin", "corner_error", "counted", "hits", "iou", "owners", "pins", "union"]
