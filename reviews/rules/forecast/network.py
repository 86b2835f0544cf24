"""Plans as networks of activities with three estimates each: critical path, mean, variance, chance.

The method of PERT (Malcolm, Roseboom, Clark and Fazar 1959; formulas from memory, checked against published
examples): mean (a + 4m + b) / 6, variance ((b - a) / 6)². It adds variances along one path, so it assumes that
activities are independent and that no other path becomes the longest; a simulation shows what that hides.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

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

    @property
    def mean(self) -> float:
        """Give the mean of the PERT distribution."""
        return (self.shortest + 4 * self.likeliest + self.longest) / 6

    @property
    def variance(self) -> float:
        """Give the variance PERT takes: a sixth of the range is one standard deviation."""
        return ((self.longest - self.shortest) / 6) ** 2

    @property
    def triangular_mean(self) -> float:
        """Give the mean of the triangular distribution on the same points."""
        return (self.shortest + self.likeliest + self.longest) / 3

    @property
    def triangular_variance(self) -> float:
        """Give the variance of the triangular distribution on the same points."""
        a, m, b = self.shortest, self.likeliest, self.longest
        return (a * a + m * m + b * b - a * m - a * b - m * b) / 18

    def triangular_quantile(self, p: float) -> float:
        """Give the duration that a share p of all cases stays within, triangular."""
        a, m, b = self.shortest, self.likeliest, self.longest
        if a == b:
            return a
        if p <= (m - a) / (b - a):
            return a + math.sqrt(p * (b - a) * (m - a))
        return b - math.sqrt((1 - p) * (b - a) * (b - m))


@dataclass(frozen=True)
class Activity:
    """One step of a network: its estimates and the steps that must be done before it."""

    name: str
    days: ThreePoint
    after: tuple[str, ...] = ()


@dataclass(frozen=True)
class CriticalPath:
    """The longest way through a network by mean durations, with its mean and variance."""

    steps: tuple[str, ...]
    mean: float
    variance: float

    def chance_within(self, days: float) -> float:
        """Give the chance of being done within some days, by the normal approximation PERT uses."""
        if self.variance == 0:
            return float(days >= self.mean)
        return 0.5 * (1 + math.erf((days - self.mean) / math.sqrt(2 * self.variance)))


def in_order(activities: Sequence[Activity]) -> list[Activity]:
    """Sort activities so that each comes after those it waits for, or refuse a network that turns in a circle."""
    by_name = {activity.name: activity for activity in activities}
    try:
        order = TopologicalSorter({activity.name: activity.after for activity in activities}).static_order()
        return [by_name[name] for name in order]
    except CycleError as circle:
        raise Refused("plan-in-a-circle", steps=", ".join(sorted(set(circle.args[1])))) from circle
    except KeyError as missing:
        raise Refused("plan-step-missing", step=missing.args[0]) from missing


def critical_path(activities: Sequence[Activity]) -> CriticalPath:
    """Find the longest path by mean durations."""
    ends: dict[str, float] = {}
    before: dict[str, str | None] = {}
    for activity in in_order(activities):
        last = max(activity.after, key=lambda name: ends[name], default=None)
        ends[activity.name] = (ends[last] if last else 0) + activity.days.mean
        before[activity.name] = last
    step = max(ends, key=lambda name: ends[name], default=None)
    mean = ends[step] if step else 0.0
    steps: list[str] = []
    while step is not None:
        steps.append(step)
        step = before[step]
    days: Mapping[str, ThreePoint] = {activity.name: activity.days for activity in activities}
    return CriticalPath(tuple(reversed(steps)), mean, sum(days[name].variance for name in steps))


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


def reference_class(ratios: Sequence[float], planned_days: float, share: float) -> float:
    """Take the outside view: the plan, stretched as this share of similar past work was at most stretched.

    Reference-class forecasting (Kahneman and Tversky 1979; Flyvbjerg 2006).
    """
    return planned_days * nearest_rank(ratios, share)
