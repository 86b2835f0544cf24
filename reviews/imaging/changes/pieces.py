"""What moved, came and went between two versions, as a few regions a person can look at, heaviest first.

Works on the unmatched lines of both sides: they are gathered into heaps; each heap of A is looked for in B
(and what it explains there is struck off); what stays of A was removed, what stays of B was added, and where the
two lie on each other the drawing was changed.
"""

from __future__ import annotations

import cv2
import numpy as np

from reviews.imaging.arrays import Bools, BoxPx, Floats32
from reviews.imaging.changes.colours import Paint
from reviews.imaging.changes.heaps import Heap, find_heaps
from reviews.imaging.changes.regions import FoundRegion, grown, overlap_of_smaller, union
from reviews.imaging.changes.strokes import Unmatched
from reviews.imaging.changes.template_search import TemplateMatch, search_strokes
from reviews.imaging.changes.turned_figures import join_turned
from reviews.imaging.changes.warp import WarpedPair

METHOD = "unmatched-lines 2"
# mm of unmatched line; what is kept after that is for ranking.py to say. In one medium a detail is enough.
_LEAST_MASS_MM, _LEAST_SAME_MM = 40.0, 10.0
_DENSITY, _CLOSING_MM = 0.10, 6.0
_CRUMB_MM, _CRUMB_SAME_MM = 14.0, 8.0  # heaps under this are dropped before anything is looked for
_SAME_VECTOR_MM = 4.0
_FILLED = 0.6  # of the box around two regions, for them to be one
_NEAR_PX = 20.0  # pieces with one vector
_GAP_MM = 6.0  # pieces of one turned or resized figure lie this near


def _heaps(weight: Floats32, ridge: Bools, px_per_mm: float, crumb_mm: float) -> list[Heap]:
    return find_heaps(weight, ridge, px_per_mm, closing_mm=_CLOSING_MM, density=_DENSITY, least_mm=crumb_mm)


def find_pieces(pair: WarpedPair, unmatched: Unmatched, paint: Paint) -> list[FoundRegion]:
    """Return what the lines and the paint show, before what belongs together is joined."""
    left_b = unmatched.b.copy()
    crumb = _CRUMB_SAME_MM if paint.is_same_medium else _CRUMB_MM
    moved, stayed = [], []
    for heap in _heaps(unmatched.a, unmatched.ridges_a, pair.px_per_mm, crumb):
        match = search_strokes(pair, heap.rows, heap.columns, unmatched.a, left_b)
        if match is None:
            stayed.append(heap)
            continue
        moved.append(_as_move(heap, match, pair))
        _strike_off(left_b, heap, match, pair.tolerance_mm * pair.px_per_mm)
    came = _heaps(left_b, unmatched.ridges_b, pair.px_per_mm, crumb)
    painted = [
        FoundRegion(label="colour", old=p.box, new=p.box, paint_mm2=p.area_mm2, difference=p.difference)
        for p in paint.patches
    ]
    return moved + _paired(stayed, came) + painted


def gather(pieces: list[FoundRegion], pair: WarpedPair, paint: Paint) -> list[FoundRegion]:
    """Join what belongs together and return every place worth ranking."""
    regions = merged(join_turned(pieces, pair.px_per_mm), _GAP_MM * pair.px_per_mm)
    least = _LEAST_SAME_MM if paint.is_same_medium else _LEAST_MASS_MM
    return [s for s in regions if s.mass_mm >= least or s.paint_mm2 > 0]


def _as_move(heap: Heap, match: TemplateMatch, pair: WarpedPair) -> FoundRegion:
    """Give the move in B as it lies on the page: what drift took out where the strokes landed is put back."""
    x0, y0, x1, y1 = heap.box
    column = int(np.clip((x0 + x1) / 2 + match.dx, 0, pair.size[0] - 1))
    row = int(np.clip((y0 + y1) / 2 + match.dy, 0, pair.size[1] - 1))
    dx, dy = (float(v) for v in pair.drift[row, column] + (match.dx, match.dy))
    new = (x0 + dx, y0 + dy, x1 + dx, y1 + dy)
    vector_mm = (dx / pair.px_per_mm, dy / pair.px_per_mm)
    return FoundRegion(label="moved", old=heap.box, new=new, vector_mm=vector_mm, mass_mm=heap.mass_mm)


def _strike_off(left_b: Floats32, heap: Heap, match: TemplateMatch, tolerance_px: float) -> None:
    """Delete the unmatched lines of B that the moved lines of A explain."""
    height, width = left_b.shape
    mask = np.zeros((height, width), np.uint8)
    rows = np.clip(heap.rows + round(match.dy), 0, height - 1)
    columns = np.clip(heap.columns + round(match.dx), 0, width - 1)
    mask[rows, columns] = 1
    side = 2 * max(1, round(1.5 * tolerance_px)) + 1
    near = cv2.dilate(mask, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)))
    left_b[near > 0] = 0


def _paired(went: list[Heap], came: list[Heap]) -> list[FoundRegion]:
    """Name what stays: where lines went and came in the same place the drawing was changed."""
    changes: list[FoundRegion] = []
    used: set[int] = set()
    for heap in went:
        partners = [i for i, c in enumerate(came) if i not in used and overlap_of_smaller(heap.box, c.box) > 0.35]
        if partners:
            used |= set(partners)
            mass = heap.mass_mm + sum(came[i].mass_mm for i in partners)
            new = union([came[i].box for i in partners])
            changes.append(FoundRegion(label="changed", old=heap.box, new=new, mass_mm=mass))
        else:
            changes.append(FoundRegion(label="removed", old=heap.box, mass_mm=heap.mass_mm))
    changes += [FoundRegion(label="added", new=c.box, mass_mm=c.mass_mm) for i, c in enumerate(came) if i not in used]
    return changes


def merged(changes: list[FoundRegion], gap_px: float = 0.0) -> list[FoundRegion]:
    """Join regions that lie on each other, and moves that share a vector and lie near."""
    out = sorted(changes, key=lambda c: -c.mass_mm)
    i = 0
    while i < len(out):
        partner = next((j for j in range(len(out)) if j != i and _belong(out[i], out[j], gap_px)), None)
        if partner is None:
            i += 1
            continue
        joint = _joined(out[i], out[partner])
        out = [c for k, c in enumerate(out) if k not in (i, partner)]
        out.append(joint)
        out.sort(key=lambda c: -c.mass_mm)
        i = 0
    return out


def _belong(one: FoundRegion, other: FoundRegion, gap_px: float) -> bool:
    if one.vector_mm and other.vector_mm:
        apart = float(np.hypot(one.vector_mm[0] - other.vector_mm[0], one.vector_mm[1] - other.vector_mm[1]))
        if one.old is None or other.old is None:
            return False
        near = overlap_of_smaller(grown(one.old, _NEAR_PX), grown(other.old, _NEAR_PX)) > 0
        return near and apart < _SAME_VECTOR_MM
    if min(_filled(one, other)) < _FILLED:
        return False
    for mine in (one.old, one.new):
        for theirs in (other.old, other.new):
            if mine and theirs and overlap_of_smaller(mine, theirs) > 0.35:
                return True
    is_near = overlap_of_smaller(grown(one.box, gap_px / 2), grown(other.box, gap_px / 2)) > 0
    return is_near and not one.vector_mm and not other.vector_mm


def _filled(one: FoundRegion, other: FoundRegion) -> list[float]:
    """Return how much of the box around both old boxes, and around both new ones, the two fill.

    Two figures side by side leave much of it bare, the pieces of one figure little. Without this, neighbours were
    drawn together one by one until a single region covered half the page.
    """
    shares = [1.0]
    for pair in ((one.old, other.old), (one.new, other.new)):
        boxes = [b for b in pair if b]
        if len(boxes) == 2:
            shares.append(_union_area(*boxes) / max(1e-9, _area(union(boxes))))
    if len(shares) == 1:
        shares.append(_union_area(one.box, other.box) / max(1e-9, _area(union([one.box, other.box]))))
    return shares


def _area(box: BoxPx) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])


def _union_area(one: BoxPx, other: BoxPx) -> float:
    smaller = min(_area(one), _area(other))
    return _area(one) + _area(other) - overlap_of_smaller(one, other) * smaller


def _joined(one: FoundRegion, other: FoundRegion) -> FoundRegion:
    """Return both as one; the lines name it before the paint does, and the heavier before the lighter."""
    heavy, light = (one, other) if one.mass_mm >= other.mass_mm else (other, one)
    if heavy.label == "moved" and light.label == "colour":  # the paint uncovered by a move adds nothing to its boxes
        olds, news = [heavy.old], [heavy.new]
    else:
        olds, news = [one.old, other.old], [one.new, other.new]
    kept_old, kept_new = ([b for b in boxes if b] for boxes in (olds, news))
    label, vector = heavy.label, heavy.vector_mm
    mixed = light.label not in (heavy.label, "colour") and heavy.label != "moved"
    if mixed:
        label, vector = "changed", None
    paint = one.paint_mm2 + other.paint_mm2
    difference = (one.paint_mm2 * one.difference + other.paint_mm2 * other.difference) / max(paint, 1e-9)
    return FoundRegion(
        label=label,
        old=union(kept_old) if kept_old else None,
        new=union(kept_new) if kept_new else None,
        vector_mm=vector,
        mass_mm=one.mass_mm + other.mass_mm,
        paint_mm2=paint,
        difference=difference,
    )
