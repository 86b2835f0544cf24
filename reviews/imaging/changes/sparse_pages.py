"""Nearly empty pages: the map that most of the figures follow, each figure one vote.

With three figures on a page the largest can hold most of the lines, and a map between "the page" and "the figure that
moved" can come within 2 mm of all of them. A figure moves as a whole, so blocks that touch vote together, and only
what lies within a hand's wander of the map counts for it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import Complexes, Matrix
from reviews.imaging.changes.blocks import (
    Matches,
    competing_motions,
    matched,
    middle_of,
    residuals,
    robust_similarity,
    size_of,
)
from reviews.imaging.changes.coarse_search import corner_distance
from reviews.imaging.changes.fields import fetch_field, inside_mask

# Chosen on 80 tuning pairs with one of three figures edited: 74 instead of 71 were then right.
_BLOCK, _STRIDE, _REACH = 48, 16, 14  # px at 600: a figure that moved by 11 mm is still found where it went
_HAND_PX = 1.2  # about 1 mm: what two hands put one point apart
_FULL_VOTE = 6  # blocks; a figure with fewer has less of a vote
_LINES = 0.1  # weight of the whole picture's correlation, which settles a tie
_SAME = 0.0015  # share of the width: nearer starts than this come to the same
_SLACK = 0.08


@dataclass(frozen=True, eq=False)
class Vote:
    a_to_b: Matrix  # at the size of the fields
    votes: float  # 0..1.1: share of the figures that follow, and how well the lines meet


def votes_of_figures(a: Complexes, b: Complexes, starts: list[Matrix]) -> list[Vote]:
    """Return the maps that some figures follow closely, the one with most figures first; both fields at 600 px."""
    tried: list[Matrix] = []
    found: list[Vote] = []
    for start in starts:
        m = matched(a, b, start, block=_BLOCK, stride=_STRIDE, radius=_REACH)
        motions = competing_motions(m, middle_of(a), tolerance_px=_HAND_PX, scale_slack=_SLACK)
        for one in [start, *(start @ motion for motion in motions)]:
            if all(corner_distance(one, other, size_of(a)) > _SAME for other in tried):
                tried.append(one)
                found += _voted(a, b, one)
    return sorted(found, key=lambda vote: -vote.votes)


def _voted(a: Complexes, b: Complexes, a_to_b: Matrix) -> list[Vote]:
    """Settle a map among what already follows it, so that it does not slide between two figures, and count."""
    m = matched(a, b, a_to_b, block=_BLOCK, stride=_STRIDE, radius=5)
    for sigmas in ((1.5, 1.0, 0.8), (1.0, 0.8)):
        if len(m) < 4:
            return []
        a_to_b = a_to_b @ robust_similarity(m, sigmas, middle_of(a), start=np.eye(3)).correction
        m = matched(a, b, a_to_b, block=_BLOCK, stride=_STRIDE, radius=5)
    if len(m) < 4:
        return []
    follows = m.score / (1 + (residuals(m, np.eye(3)) / _HAND_PX) ** 2) ** 2
    overlap, alike = overlap_and_likeness(a, b, a_to_b)
    return [Vote(a_to_b, float((weight_by_figure(m) * follows).sum()) * np.sqrt(overlap) + _LINES * alike)]


def overlap_and_likeness(a: Complexes, b: Complexes, a_to_b: Matrix) -> tuple[float, float]:
    """Return the share of A's lines that lie inside B (0..1), and the correlation of the two fields there (-1..1).

    `a` and `b` are (rows, columns), `a_to_b` 3x3 between their pixels.
    """
    size = size_of(a)
    on_a, inside = fetch_field(b, a_to_b, size), inside_mask(size_of(b), a_to_b, size)
    power = np.abs(a) ** 2
    overlap = float(power[inside].sum() / max(1e-9, float(power.sum())))
    norm = float(np.sqrt(power[inside].sum() * (np.abs(on_a) ** 2).sum()))
    return overlap, float((a * np.conj(on_a)).real.sum() / max(1e-9, norm))


def weight_by_figure(m: Matches) -> NDArray[np.float64]:
    """Return a weight per block, summing to 1: blocks that touch are one figure, and figures count alike."""
    figure = _figures(m.at)
    sizes = np.bincount(figure)
    weight = np.minimum(sizes, _FULL_VOTE)[figure] / sizes[figure]
    return np.asarray(weight / weight.sum(), np.float64)


def _figures(at: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the number of the figure each block belongs to."""
    touching = np.abs(at[:, None] - at[None]).max(2) <= _STRIDE
    figure = np.full(len(at), -1, np.int64)
    for first in range(len(at)):
        if figure[first] >= 0:
            continue
        number, ahead = figure.max() + 1, np.zeros(len(at), bool)
        ahead[first] = True
        while ahead.any():
            figure[ahead] = number
            ahead = touching[ahead].any(0) & (figure < 0)
    return figure
