"""How sure a count makes us of a rate."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import exp, lgamma, log, log1p


@cache
def exact_interval(n_hits: int, n_tries: int, sureness: float = 0.95) -> tuple[float, float]:
    """Give the exact (Clopper–Pearson) two-sided interval of a proportion; of no tries nothing is known (0 to 1).

    Each end is the rate at which so many hits, or more extreme ones, would be seen in (1 - sureness) / 2 of all series.
    """
    tail = (1 - sureness) / 2
    low = 0.0 if n_hits == 0 else _where(lambda rate: 1 - _at_most(n_hits - 1, n_tries, rate) >= tail)
    high = 1.0 if n_hits == n_tries else _where(lambda rate: _at_most(n_hits, n_tries, rate) <= tail)
    return low, high


def _at_most(n_hits: int, n_tries: int, rate: float) -> float:
    """Return the chance of so many hits or fewer; by logarithms, as the numbers of ways overflow from 1030 tries on."""
    yes, no = log(rate), log1p(-rate)

    def chance(k: int) -> float:
        ways = lgamma(n_tries + 1) - lgamma(k + 1) - lgamma(n_tries - k + 1)
        return exp(ways + k * yes + (n_tries - k) * no)

    return sum(chance(k) for k in range(n_hits + 1))


def _where(becomes_true: Callable[[float], bool]) -> float:
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if becomes_true(middle) else (middle, high)
    return high
