"""The map that carries one version onto the next, across media, with how sure it is.

Method: coarse Fourier search over turn and scale, block displacements at three sizes, competing motions by sampled
pairs, robust similarity evenly weighted over the page; the candidates are ranked by how much of the page agrees, and
on a nearly empty page by how many of its figures do.
The two pictures' print sizes need not agree: only the first one's width in mm matters to later steps.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

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
from reviews.imaging.changes.coarse_search import (
    COARSE_PX,
    SCALES,
    TURNS_DEG,
    WIDE_SCALES,
    corner_distance,
    guesses,
    rescaled,
)
from reviews.imaging.changes.fields import PreparedPicture, reduced
from reviews.imaging.changes.findings import Alignment, AlignmentState, Reading
from reviews.imaging.changes.sparse_pages import overlap_and_likeness, votes_of_figures

METHOD = "orientation-blocks 3"
ALIGNED, CHECK = 1.0, 0.85  # score; see tests/imaging/test_align.py
# So few blocks agree only on nearly empty pages, where one figure may pass for the page. Set on tuning seeds: of pairs
# with three figures the wrong ones had at most 24.
FEW_BLOCKS = 35
# Fewer are no certainty either: two of three figures can have moved alike, and then the third seems to have moved.
# Ordinary pages have at least 52 (66 tuning pairs).
SURE_BLOCKS = 48
RIVAL = 0.80  # a runner-up with this share of the best score is a second reading
_SPARSE_BLOCKS = 60  # more than this is a drawn page; if few of its blocks agree, its figures would not either
_STARTS = 4
_Steps = tuple[tuple[int, tuple[float, ...]], ...]  # at 1200 px: how far blocks are sought, and the fit's scales
_FROM_NEAR: _Steps = ((6, (3.0, 2.0, 1.2)), (4, (1.2, 0.8, 0.6)), (3, (0.6,)))
_FROM_SETTLED: _Steps = ((4, (1.5, 1.0, 0.8)), (3, (0.8, 0.6)))
_APART = 0.006  # share of the width: nearer than this, two candidates are the same reading


@dataclass(frozen=True, eq=False)
class _Side:
    z: Complexes

    @cached_property
    def sizes(self) -> dict[int, Complexes]:
        half = reduced(self.z, 0.5)
        quarter = reduced(half, 0.5)
        return {1200: self.z, 600: half, 300: quarter, COARSE_PX: reduced(quarter, 0.5)}


@dataclass(frozen=True, eq=False, kw_only=True)
class _Candidate:
    """A map at some size, with what was seen of it there."""

    a_to_b: Matrix
    share: float = 0.0
    ncc: float = 0.0
    overlap: float = 0.0
    spread_px: float = 1e9
    quadrants: int = 0
    n_agreeing: int = 0
    n_blocks: int = 0
    votes: float | None = None  # of the figures, on a nearly empty page

    @property
    def score(self) -> float:
        return self.share * float(np.sqrt(self.overlap)) + self.ncc

    @property
    def rank(self) -> float:
        return self.score if self.votes is None else self.votes


def _seed_candidates(a: _Side, b: _Side, *, wide: bool) -> list[Matrix]:
    """Return maps at 300 px: the coarse guesses settled by blocks, and what their competing motions make of them."""
    scales = WIDE_SCALES if wide else SCALES
    found = guesses(a.sizes[COARSE_PX], b.sizes[COARSE_PX], turns=TURNS_DEG, scales=scales)
    za, zb = a.sizes[300], b.sizes[300]
    seeds: list[tuple[float, Matrix]] = []
    for i, guess in enumerate(found[:5]):
        start = rescaled(guess.a_to_b, 300 / COARSE_PX)
        m = matched(za, zb, start, block=32, stride=16, radius=8)
        if len(m) < 4:
            continue
        motions = [robust_similarity(m, (6, 4, 2.5, 1.5), middle_of(za)).correction]
        motions += competing_motions(m, middle_of(za)) if i < 3 else []
        seeds += [(_agreement(m, motion, 1.2), start @ motion) for motion in motions]
    seeds.sort(key=lambda s: -s[0])
    kept: list[Matrix] = []
    for _, seed in seeds:
        if all(corner_distance(seed, k, size_of(za)) > _APART for k in kept):
            kept.append(seed)
    return kept[:6]


def _agreement(m: Matches, correction: Matrix, tolerance_px: float) -> float:
    return float((m.score**2 * m.even * (residuals(m, correction) < tolerance_px)).sum())


def _settled(a: Complexes, b: Complexes, a_to_b: Matrix, *, votes: float | None = None) -> _Candidate:
    """Settle a candidate at 600 px and look how much of the page agrees with it.

    One that figures have voted for is settled already: it is only looked at.
    """
    size, middle, is_settled = size_of(a), middle_of(a), votes is not None
    for _ in range(1 if is_settled else 2):
        m = matched(a, b, a_to_b, block=48, stride=32, radius=6)
        if len(m) < 4:
            return _Candidate(a_to_b=a_to_b, votes=votes)
        start, sigmas = (np.eye(3), (1.0, 0.8)) if is_settled else (None, (4, 2.5, 1.5, 1.0))
        fit = robust_similarity(m, sigmas, middle, start)
        a_to_b = a_to_b @ fit.correction
    close = (residuals(m, fit.correction) < 0.004 * size[0]) & (m.score > 0.25)
    overlap, ncc = overlap_and_likeness(a, b, a_to_b)
    share = float((m.even * close).sum())
    quadrant = (m.at[:, 0] > middle[0]).astype(int) + 2 * (m.at[:, 1] > middle[1])
    held = len({int(q) for q in quadrant[close]})
    spread = _corner_spread(fit.covariance, m, size)
    return _Candidate(
        a_to_b=a_to_b,
        share=share,
        ncc=ncc,
        overlap=overlap,
        spread_px=spread,
        quadrants=held,
        n_agreeing=int(close.sum()),
        n_blocks=len(m),
        votes=votes,
    )


def _corner_spread(covariance: NDArray[np.float64], m: Matches, size: tuple[int, int]) -> float:
    """Return the predicted corner error in px: wide when the agreeing blocks sit together."""
    x, y = (size[0] - 1) / 2, (size[1] - 1) / 2
    jac = np.array([[x, -y, 1, 0], [y, x, 0, 1]])
    return float(np.sqrt(np.trace(jac @ covariance @ jac.T) / max(1, len(m))))


def _finished(a: Complexes, b: Complexes, a_to_b: Matrix, *, is_settled: bool) -> Matrix:
    for radius, sigmas in _FROM_SETTLED if is_settled else _FROM_NEAR:
        m = matched(a, b, a_to_b, block=64, stride=44, radius=radius)
        if len(m) < 4:
            return a_to_b
        start = np.eye(3) if is_settled else None
        a_to_b = a_to_b @ robust_similarity(m, sigmas, middle_of(a), start).correction
    return a_to_b


def align(a: PreparedPicture, b: PreparedPicture, *, wide: bool = True) -> Alignment:
    """Find the similarity from A's pixels to B's, or say that there is none to be sure of.

    `wide` tries a larger range of scales (B may show a part of the page) when the first range is not convincing.
    """
    sides = _Side(a.field.z), _Side(b.field.z)
    candidates = _ranked(*sides, wide=False)
    if wide and (not candidates or candidates[0].score < ALIGNED):
        candidates = _ranked(*sides, wide=True) or candidates
    if candidates and candidates[0].n_agreeing < FEW_BLOCKS and candidates[0].n_blocks < _SPARSE_BLOCKS:
        candidates = _by_figures(*sides, candidates) or candidates
    return _verdict(a, b, sides, candidates)


def _ranked(a: _Side, b: _Side, *, wide: bool) -> list[_Candidate]:
    settled: list[_Candidate] = []
    for seed in _seed_candidates(a, b, wide=wide):
        settled.append(_settled(a.sizes[600], b.sizes[600], rescaled(seed, 2)))
    return _distinct(sorted(settled, key=lambda c: -c.rank), a)


def _by_figures(a: _Side, b: _Side, candidates: list[_Candidate]) -> list[_Candidate]:
    votes = votes_of_figures(a.sizes[600], b.sizes[600], [c.a_to_b for c in candidates[:_STARTS]])
    best = [v for v in votes if v.votes > RIVAL * votes[0].votes]
    return _distinct([_settled(a.sizes[600], b.sizes[600], v.a_to_b, votes=v.votes) for v in best], a)


def _distinct(ranked: list[_Candidate], a: _Side) -> list[_Candidate]:
    kept: list[_Candidate] = []
    for c in ranked:
        if all(corner_distance(c.a_to_b, k.a_to_b, size_of(a.sizes[600])) > _APART for k in kept):
            kept.append(c)
    return kept


def _verdict(
    a: PreparedPicture, b: PreparedPicture, sides: tuple[_Side, _Side], candidates: list[_Candidate]
) -> Alignment:
    readings = []
    for i, c in enumerate(candidates[:2]):
        if i and c.rank < RIVAL * candidates[0].rank:
            continue
        matrix = _finished(sides[0].z, sides[1].z, rescaled(c.a_to_b, 2), is_settled=c.votes is not None)
        full = np.linalg.inv(b.to_work) @ matrix @ a.to_work
        readings.append(
            Reading(
                a_to_b_px=_tuple(full),
                score=c.score,
                share=c.share,
                ncc=c.ncc,
                overlap=c.overlap,
                spread_frac=c.spread_px / 600,
                quadrants=c.quadrants,
                n_agreeing=c.n_agreeing,
            )
        )
    return Alignment(
        method=METHOD,
        state=_state(readings),
        readings=tuple(readings),
        runner_up=_runner_up(candidates),
        a_size_px=a.full_size,
        b_size_px=b.full_size,
    )


def _runner_up(candidates: list[_Candidate]) -> float:
    """Return the second's rank over the first's: 0 where there is no second, 1 where neither lies on anything."""
    if len(candidates) < 2:
        return 0.0
    return candidates[1].rank / candidates[0].rank if candidates[0].rank > 0 else 1.0


def _state(readings: list[Reading]) -> AlignmentState:
    if not readings or readings[0].score < CHECK:
        return "not-aligned"
    if len(readings) > 1:
        return "two-readings"
    best = readings[0]
    if best.quadrants < 2:  # one corner agrees: that is a figure, not the page
        return "not-aligned"
    is_sure = best.score >= ALIGNED and best.quadrants >= 3 and best.n_agreeing >= SURE_BLOCKS
    return "aligned" if is_sure else "check"


def _tuple(m: Matrix) -> tuple[float, float, float, float, float, float]:
    a, b, c, d, e, f = (float(v) for v in m[:2].ravel())
    return a, b, c, d, e, f
