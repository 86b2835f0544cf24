"""Which of the candidate places are worth a person's look: a score for each, then the best of those that overlap.

Hatching, new inner lines and vanished construction lines are real but unwanted; lines that paint does not repeat
even more so. The scores are learnt on tuning pairs, and prefer of several boxes about one change the one that fits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from reviews.imaging.changes.candidates import Candidate
from reviews.imaging.changes.place_evidence import Page, features_of
from reviews.imaging.changes.place_weights import HINT_LINES, HINT_PAINT, LINES, PAINT, SIMILAR
from reviews.imaging.changes.regions import FoundRegion, overlap_of_smaller, shared_of_union
from reviews.imaging.changes.scores import Score

METHOD = "ranked-candidates 7"
MOST_SHOWN = 12
# From this on, or from the least of a hint, a place is not nothing, though it may be too unsure to be shown as changed:
# as long as there is one, nobody may be told that nothing was found.
FAINT = 0.2
_TRACE = 0.05  # under this a place is not even a hint for the notes in it
_DETAIL_MM2 = 150.0
_SAME_PLACE = 0.3  # of the smaller box: then the two are about one thing
_ONE_BOX, _WITHIN = 0.4, 0.9  # shared of both, or of the one inside the other: of two such candidates the better stays
# A figure turned or resized by little never scores high, and where the hand is steady a low score is right nearly as
# often as a high one: on 51 tuning pairs four of the five more that are shown from this on. On 12 pairs drawn anew by a
# free hand neither of two was anything.
_LEAST_WHERE_STEADY, _MORE_PER_LOOSENESS = 0.25, 0.5
_SAME_FIGURE, _SAME_MASS = 0.5, 0.5  # a move's old box and mass, for its vector to be that of a place


@dataclass(frozen=True, eq=False)
class Ranked:
    """Places with their scores: those worth showing, heaviest first, the faint ones, surest first, and all traces."""

    shown: tuple[tuple[FoundRegion, float], ...]
    unsure: tuple[tuple[FoundRegion, float], ...]
    traces: tuple[tuple[FoundRegion, float], ...]


@dataclass(frozen=True, eq=False)
class _Scored:
    candidate: Candidate
    score: float
    hint: float  # how likely there is anything at all, however badly the box fits
    least: float  # the score from which it is shown

    @property
    def region(self) -> FoundRegion:
        return self.candidate.region

    @property
    def is_something(self) -> bool:
        return self.score >= FAINT or self.hint >= _scores_of(self.candidate)[1].least


def _scores_of(candidate: Candidate) -> tuple[Score, Score]:
    """Return what says whether a place is shown, and what says whether it is anything at all."""
    if candidate.similar is not None:
        return SIMILAR, SIMILAR
    return (LINES, HINT_LINES) if candidate.region.mass_mm > 0 else (PAINT, HINT_PAINT)


def rank_candidates(page: Page) -> Ranked:
    """Score every candidate, keep the best of what overlaps, and name what stays."""
    every = [_scored(page, candidate) for candidate in page.candidates]
    kept = _best_of_overlapping(every)
    sure = [one for one in kept if one.score >= one.least][:MOST_SHOWN]
    named = _without_echoes([(_named(one, every), one.score) for one in sure])
    shown = sorted(named, key=lambda r: -(r[0].mass_mm + np.sqrt(r[0].paint_mm2)))
    unsure: list[tuple[FoundRegion, float]] = []
    for one in sorted((one for one in every if one.is_something), key=lambda r: -max(r.score, r.hint)):
        told = [*shown, *unsure]
        if all(overlap_of_smaller(one.region.box, other.box) <= _SAME_PLACE for other, _ in told):
            unsure.append((_as_detail(one.region), max(one.score, one.hint)))
    traces = tuple((one.region, one.score) for one in kept)
    return Ranked(tuple(shown), tuple(unsure[:MOST_SHOWN]), traces)


def _scored(page: Page, candidate: Candidate) -> _Scored:
    place, hint = _scores_of(candidate)
    seen = features_of(page, candidate)
    return _Scored(candidate, place.of(seen), hint.of(seen), _least_of(candidate, page.pair.looseness))


def _least_of(candidate: Candidate, looseness: float) -> float:
    if candidate.similar is None:
        return _scores_of(candidate)[0].least
    return min(SIMILAR.least, _LEAST_WHERE_STEADY + _MORE_PER_LOOSENESS * (looseness - 1))


def _best_of_overlapping(every: Sequence[_Scored]) -> list[_Scored]:
    """Return the candidates no better one lies on, best first, down to a trace."""
    kept: list[_Scored] = []
    for one in sorted(every, key=lambda r: -r.score):
        if one.score < _TRACE:
            break
        if not any(_is_one_place(one.region, other.region) for other in kept):
            kept.append(one)
    return kept


def _is_one_place(one: FoundRegion, other: FoundRegion) -> bool:
    pairs = ((one.old, other.old), (one.new, other.new), (one.box, other.box))
    if any(shared_of_union(mine, theirs) > _ONE_BOX for mine, theirs in pairs):
        return True
    return overlap_of_smaller(one.box, other.box) > _WITHIN


def _named(one: _Scored, every: Sequence[_Scored]) -> FoundRegion:
    """Say what happened in a place, by all that was found there: it moved, turned, grew, went, came, or changed."""
    region = _as_detail(one.region)
    if region.mass_mm == 0 or region.vector_mm:
        return region
    around = [other for other in every if other.region is not one.region]
    similar = [o for o in (one, *around) if o.candidate.similar and (o is one or _is_the_figure(o, region))]
    if similar:
        figure = max(similar, key=lambda o: o.score)
        found = figure.candidate.similar
        assert found is not None
        return replace(figure.region, mass_mm=region.mass_mm, scale=found.scale, turn_deg=found.turn_deg)
    moves = [other.region for other in around if other.region.vector_mm]
    like = [m for m in moves if shared_of_union(m.old, region.old) > _SAME_FIGURE]
    if like:
        best = max(like, key=lambda m: m.mass_mm)
        if best.mass_mm >= _SAME_MASS * region.mass_mm:
            return replace(region, label="moved", new=best.new, vector_mm=best.vector_mm)
    return _with_other_side(region, around)


def _without_echoes(named: list[tuple[FoundRegion, float]]) -> list[tuple[FoundRegion, float]]:
    """Drop what a place with a better name tells already: a figure that moved is not new where it went to."""
    kept: list[tuple[FoundRegion, float]] = []
    for one in sorted(named, key=lambda r: (not _has_motion(r[0]), -r[1])):
        if not any(_is_one_place(one[0], other) for other, _ in kept):
            kept.append(one)
    return kept


def _has_motion(region: FoundRegion) -> bool:
    return region.vector_mm is not None or (region.scale, region.turn_deg) != (1.0, 0.0)


def _is_the_figure(one: _Scored, region: FoundRegion) -> bool:
    """Whether a turned or resized figure is surely enough found, and is what the place is about."""
    return one.score >= SIMILAR.least and shared_of_union(one.region.box, region.box) > _SAME_FIGURE


def _with_other_side(region: FoundRegion, around: Sequence[_Scored]) -> FoundRegion:
    """Call it changed where something went and something came in one place: two candidates, of which one was kept."""
    if region.label not in ("removed", "added"):
        return region
    other_label = "added" if region.label == "removed" else "removed"
    there = [
        one
        for one in around
        if one.region.label == other_label
        and one.score >= one.least
        and shared_of_union(one.region.box, region.box) > _ONE_BOX
    ]
    if not there:
        return region
    other = max(there, key=lambda one: one.score).region
    old, new = (region.old, other.new) if region.label == "removed" else (other.old, region.new)
    return replace(region, label="changed", old=old, new=new, mass_mm=region.mass_mm + other.mass_mm)


def _as_detail(region: FoundRegion) -> FoundRegion:
    """Call a small patch without lines of its own a detail: an eye, a label."""
    is_detail = region.label == "colour" and region.paint_mm2 < _DETAIL_MM2
    return replace(region, label="detail") if is_detail else region
