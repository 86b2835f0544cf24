"""Slow and certain ways to the figures that the forecast simulates; only tests hold it against them."""

from __future__ import annotations

import math
from collections.abc import Sequence


def nearest_rank(values: Sequence[float], share: float) -> float:
    """Give the smallest value that at least this share (0 < share <= 1) of all values does not exceed."""
    ordered = sorted(values)
    # 0.8 * 10 is 8.000000000000002 in binary; without the slack the ninth value would be taken.
    return ordered[max(0, math.ceil(share * len(ordered) - 1e-9) - 1)]


def exact_sums(histories: Sequence[Sequence[float]]) -> list[float]:
    """List every sum of one past duration per stage, all equally likely: the bootstrap without chance, for few data."""
    sums = [0.0]
    for history in histories:
        sums = [so_far + days for so_far in sums for days in history]
    return sorted(sums)
