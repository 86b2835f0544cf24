"""Places that may be worth a look, at several scales at once and none of them final.

What is one figure to a person may be three heaps of loose lines, and two figures one heap. So nothing is joined for
good here: the same lines stand in candidates of several sizes, and `ranking.py` keeps the best of those that overlap.
Joining first and judging afterwards lost three times as many changes as not finding them did.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from reviews.imaging.arrays import BoxPx
from reviews.imaging.changes.colours import Paint
from reviews.imaging.changes.heaps import Heap, find_heaps, solid_box
from reviews.imaging.changes.pieces import gather
from reviews.imaging.changes.regions import FoundRegion, overlap_of_smaller, shared_of_union
from reviews.imaging.changes.similar_figures import SimilarFigure, find_similar, joined_similar
from reviews.imaging.changes.strokes import Unmatched
from reviews.imaging.changes.turned_figures import join_turned
from reviews.imaging.changes.warp import WarpedPair

METHOD = "many-scales 1"
Source = Literal["piece", "turned", "gathered", "small-heap", "large-heap", "similar"]
# Closing in mm, least density in mm of line per mm2, least mm of line.
_SMALL: tuple[float, float, float] = (2.0, 0.10, 10.0)
_LARGE: tuple[float, float, float] = (12.0, 0.06, 25.0)
_SAME_PLACE, _SAME_OF_SMALLER = 0.25, 0.5  # lines that went and lines that came are one place from this on


@dataclass(frozen=True, eq=False)
class Candidate:
    """A place as one way of gathering sees it."""

    region: FoundRegion
    source: Source
    similar: SimilarFigure | None = None


def find_candidates(pair: WarpedPair, unmatched: Unmatched, paint: Paint, pieces: list[FoundRegion]) -> list[Candidate]:
    """Return every candidate: the pieces as found, joined in each way, heaps of two sizes, turned and resized ones."""
    lines = [one for one in pieces if one.mass_mm > 0]
    out = [Candidate(one, "piece") for one in pieces]
    out += [Candidate(one, "turned") for one in join_turned(lines, pair.px_per_mm) if one not in lines]
    out += [Candidate(one, "gathered") for one in gather(lines, pair, paint) if one not in lines]
    if len(lines) < len(pieces):
        out += [Candidate(one, "gathered") for one in gather(pieces, pair, paint) if one not in pieces]
    out += [Candidate(one, "small-heap") for one in _heap_regions(pair, unmatched, _SMALL)]
    out += [Candidate(one, "large-heap") for one in _heap_regions(pair, unmatched, _LARGE)]
    for found in joined_similar(find_similar(pair, unmatched)):
        region = FoundRegion(label="changed", old=found.old, new=found.new, mass_mm=found.mass_mm)
        out.append(Candidate(region, "similar", found))
    return out


def _heap_regions(pair: WarpedPair, unmatched: Unmatched, how: tuple[float, float, float]) -> list[FoundRegion]:
    """Return each heap of either side as removed or added, and as changed where two lie on each other."""
    closing, density, least = how

    def heaps(one: Literal["a", "b"]) -> list[tuple[Heap, BoxPx]]:
        weight, ridge = (unmatched.a, unmatched.ridges_a) if one == "a" else (unmatched.b, unmatched.ridges_b)
        found = find_heaps(weight, ridge, pair.px_per_mm, closing_mm=closing, density=density, least_mm=least)
        return [(heap, solid_box(heap)) for heap in found]

    went, came = heaps("a"), heaps("b")
    out = [FoundRegion(label="removed", old=box, mass_mm=heap.mass_mm) for heap, box in went]
    out += [FoundRegion(label="added", new=box, mass_mm=heap.mass_mm) for heap, box in came]
    for one, old in went:
        for other, new in came:
            is_one = shared_of_union(old, new) > _SAME_PLACE and overlap_of_smaller(old, new) > _SAME_OF_SMALLER
            if is_one:
                out.append(FoundRegion(label="changed", old=old, new=new, mass_mm=one.mass_mm + other.mass_mm))
    return out
