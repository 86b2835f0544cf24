"""What every step after the finding of pieces speaks of: a region in working pixels, and the boxes it is made of."""

from __future__ import annotations

from dataclasses import dataclass

from reviews.imaging.arrays import BoxPx
from reviews.imaging.changes.findings import ChangeLabel


@dataclass(frozen=True, eq=False, kw_only=True)
class FoundRegion:
    """A region in working pixels of A, before it is given in fractions."""

    label: ChangeLabel
    old: BoxPx | None = None
    new: BoxPx | None = None
    vector_mm: tuple[float, float] | None = None  # right and down
    mass_mm: float = 0.0  # of line without a counterpart
    paint_mm2: float = 0.0  # area whose paint differs, and by how much (Lab units)
    difference: float = 0.0
    scale: float = 1.0  # of a figure found larger or smaller, and turned (degrees to the right)
    turn_deg: float = 0.0

    @property
    def box(self) -> BoxPx:
        return union([b for b in (self.old, self.new) if b])


def union(boxes: list[BoxPx]) -> BoxPx:
    """Return the smallest box around all of them."""
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


def overlap_of_smaller(one: BoxPx, other: BoxPx) -> float:
    """Return the shared area as a share of the smaller box."""
    w = min(one[2], other[2]) - max(one[0], other[0])
    h = min(one[3], other[3]) - max(one[1], other[1])
    if w <= 0 or h <= 0:
        return 0.0
    areas = [(b[2] - b[0]) * (b[3] - b[1]) for b in (one, other)]
    return w * h / max(1e-9, min(areas))


def grown(box: BoxPx, by: float) -> BoxPx:
    """Return the box with a border of `by` px."""
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def shared_of_union(one: BoxPx | None, other: BoxPx | None) -> float:
    """Return the shared area as a share of what the two cover together; 0 where one is missing."""
    if not one or not other:
        return 0.0
    w = min(one[2], other[2]) - max(one[0], other[0])
    h = min(one[3], other[3]) - max(one[1], other[1])
    if w <= 0 or h <= 0:
        return 0.0
    areas = [(b[2] - b[0]) * (b[3] - b[1]) for b in (one, other)]
    return w * h / max(1e-9, sum(areas) - w * h)
