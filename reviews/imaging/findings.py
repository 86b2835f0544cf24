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
