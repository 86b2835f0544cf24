"""A guess in three points, as a triangular distribution: what stands in for a history until there is one."""

from __future__ import annotations

import math
from dataclasses import dataclass

from reviews.rules.states import Refused


@dataclass(frozen=True)
class ThreePoint:
    """The shortest, the likeliest and the longest duration somebody can imagine, in days or as a ratio."""

    shortest: float
    likeliest: float
    longest: float

    def __post_init__(self) -> None:
        if not 0 <= self.shortest <= self.likeliest <= self.longest or not math.isfinite(self.longest):
            raise Refused("three-points-out-of-order")

    def triangular_quantile(self, p: float) -> float:
        """Give the duration that a share p of all cases stays within, triangular."""
        a, m, b = self.shortest, self.likeliest, self.longest
        if a == b:
            return a
        if p <= (m - a) / (b - a):
            return a + math.sqrt(p * (b - a) * (m - a))
        return b - math.sqrt((1 - p) * (b - a) * (b - m))
