"""What comparing two versions returns: frozen values, each naming the method and version that made it.

Pixels are counted from the middle of the top left pixel; boxes and points are fractions of the approved picture
(x, y from its top left corner) unless a name says otherwise; millimetres are at print size.
"""

from __future__ import annotations

from dataclasses import dataclass

Affine = tuple[float, float, float, float, float, float]
Size = tuple[int, int]
FracBox = tuple[float, float, float, float]


@dataclass(frozen=True)
class Reading:
    """One way to lay A on B: x' = m0 x + m1 y + m2, y' = m3 x + m4 y + m5 in pixels of the two pictures."""

    a_to_b_px: Affine
    score: float
    share: float
    ncc: float
    overlap: float
    spread_frac: float
    quadrants: int


@dataclass(frozen=True)
class Alignment:
    method: str
    state: str  # aligned | check | two-readings | not-aligned
    readings: tuple[Reading, ...]  # best first
    runner_up: float  # score of the second distinct candidate over the first's
    a_size_px: Size
    b_size_px: Size

    @property
    def is_usable(self) -> bool:
        return self.state != "not-aligned"


@dataclass(frozen=True)
class Region:
    """One place a person should look at. Boxes are fractions of A; `new_box` is where it is now, laid on A."""

    label: str  # moved | changed | removed | added | colour | detail
    old_box: FracBox | None
    new_box: FracBox | None
    vector_mm: tuple[float, float] | None
    mass_mm: float  # millimetres of line without a counterpart (for colour: square root of the area)
    score: float  # 0..1: how likely worth a look

    @property
    def box(self) -> FracBox:
        boxes = [b for b in (self.old_box, self.new_box) if b]
        return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))
