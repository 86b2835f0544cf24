"""What is known of a candidate place, by name: the inputs of the scores in `ranking.py`.

Own side: where its lines lie, A for what went, B for what came, both by their mass for what changed. Other side: the
same box in the other version. All lengths in mm at print size.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np

from reviews.imaging.arrays import BoxPx, Complexes, Floats32
from reviews.imaging.changes.candidates import Candidate, Source
from reviews.imaging.changes.colours import Paint
from reviews.imaging.changes.regions import FoundRegion, grown, shared_of_union
from reviews.imaging.changes.similar_evidence import similar_features
from reviews.imaging.changes.strokes import Unmatched
from reviews.imaging.changes.warp import WarpedPair

_RING_MM, _MANY = 5.0, 0.6
_SOURCES: tuple[Source, ...] = ("turned", "gathered", "small-heap", "large-heap")
_LABELS = ("moved", "removed", "added")
# What is also taken by itself where only the new one is painted, and where both are.
_BY_MEDIA = (
    "loose",
    "lines",
    "share",
    "share_over_page",
    "density",
    "isolation",
    "ring_share",
    "spread",
    "strength",
    "along",
    "other_lines",
    "other_share",
    "lines_ratio",
    "is_removed",
    "is_added",
    "area",
)
_PLAIN = (
    "mass",  # log of the mm of line without counterpart it was gathered by
    "loose",  # log of such mm in its box, on its own side
    "lines",  # log of all mm of line there
    "share",  # of these that have no counterpart
    "share_over_page",  # the same less the page's
    "density",  # mm of loose line per mm2
    "isolation",  # log of that over the same in a ring of 5 mm around
    "ring_share",  # of the lines in that ring without counterpart
    "spread",  # of their directions: 1 all lines one way, as in hatching, 0 every way
    "strength",  # of the loose lines, over that of the page's strong ones
    "along",  # how well anything of the other version runs along them
    "other_lines",  # log of the mm of line in the same box of the other version
    "other_share",  # of these without counterpart
    "lines_ratio",  # log of own over other lines
    "area",  # log of mm2
    "short",  # log of the shorter side
    "aspect",  # log of longer over shorter side
    "held",  # its mass over all loose lines in the box
    "mass_to_usual",  # log of its mass over the page's median piece
    "page_share",  # of all lines of the page without counterpart
    "looseness",  # of the hand, 1 to 3
    "agreeing",  # log of how many other candidates see nearly the same box
    "paint_share",  # of the box that is painted differently, where colours can be compared
    "paint_in",  # log of the mm2 of it
    "same_dry",  # one medium, neither painted: 0 or 1
    "to_paint",
    "both_painted",
)
LINE_FEATURES = (
    *_PLAIN,
    *(f"is_{label}" for label in _LABELS),
    *(f"from_{source}" for source in _SOURCES),
    *(f"{name}_to_paint" for name in _BY_MEDIA),
    *(f"{name}_both_painted" for name in _BY_MEDIA),
)
PAINT_FEATURES = (
    "paint_area",  # log of the mm2 that differ
    "paint_strength",  # log of how far, beyond what is shown at least
    "paint_strength_by_area",
    "paint_share",  # of its box
    "page_usual",  # what is left of the colours all over the page
    "short",
    "aspect",
    "looseness",
    "loose_lines",  # log of the mm of loose line of both versions in the box
    "loose_share",
    "is_dry",  # neither is painted
)


@dataclass(frozen=True, eq=False)
class Page:
    """What all candidates of one pair are held against."""

    pair: WarpedPair
    unmatched: Unmatched
    paint: Paint
    candidates: list[Candidate]

    @cached_property
    def share(self) -> float:
        un = self.unmatched
        return float(un.a.sum() + un.b.sum()) / (float(un.ridges_a.sum() + un.ridges_b.sum()) + 5)

    @cached_property
    def usual_mass(self) -> float:
        masses = [c.region.mass_mm for c in self.candidates if c.source == "piece" and c.region.mass_mm > 0]
        return float(np.median(masses)) if masses else 10.0

    @cached_property
    def strong(self) -> tuple[float, float]:
        """How strong the strong lines of either version are (Lab units per px)."""
        pairs = ((self.pair.strength_a, self.unmatched.ridges_a), (self.pair.strength_b, self.unmatched.ridges_b))
        one, other = (float(np.percentile(s[r], 80)) if r.any() else 1.0 for s, r in pairs)
        return max(one, 1e-6), max(other, 1e-6)


@dataclass(frozen=True, eq=False, kw_only=True)
class _Side:
    """Lines of one version in one box and around it; mm and mm2."""

    lines: float
    loose: float
    area: float
    ring_lines: float
    ring_loose: float
    ring_area: float
    spread: float
    strength: float
    along: float

    @property
    def share(self) -> float:
        return self.loose / (self.lines + 5)


def features_of(page: Page, candidate: Candidate) -> dict[str, float]:
    """Return what is known of a place, by the names of `SIMILAR_FEATURES`, `PAINT_FEATURES` or `LINE_FEATURES`.

    The first for a figure that may have been turned or resized, the second for mere paint.
    """
    if candidate.similar is not None:
        pair = page.pair
        return similar_features(
            candidate.similar,
            px_per_mm=pair.px_per_mm,
            page_share=page.share,
            looseness=pair.looseness,
            painted=page.paint.painted,
        )
    return _paint_features(page, candidate) if candidate.region.mass_mm == 0 else _line_features(page, candidate)


def _line_features(page: Page, candidate: Candidate) -> dict[str, float]:
    region, k, painted = candidate.region, page.pair.px_per_mm, page.paint.painted
    own, other = _both_sides(page, region)
    area, short, long = _measures(region, k)
    seen = {
        **_of_lines(own, other, page.share),
        "mass": float(np.log1p(region.mass_mm)),
        "area": float(np.log1p(area)),
        "short": float(np.log1p(short)),
        "aspect": float(np.log((long + 2) / (short + 2))),
        "held": min(3.0, region.mass_mm / (own["loose_mm"] + 5)),
        "mass_to_usual": float(np.log((region.mass_mm + 5) / (page.usual_mass + 5))),
        "page_share": page.share,
        "looseness": page.pair.looseness,
        "agreeing": _agreeing(page, candidate),
        **_paint_in(page.paint, region.box, k),
        "same_dry": float(page.paint.is_same_medium and not any(painted)),
        "to_paint": float(painted[1] and not painted[0]),
        "both_painted": float(all(painted)),
        **{f"is_{label}": float(region.label == label) for label in _LABELS},
        **{f"from_{source}": float(candidate.source == source) for source in _SOURCES},
    }
    for media in ("to_paint", "both_painted"):
        seen |= {f"{name}_{media}": seen[name] * seen[media] for name in _BY_MEDIA}
    return seen


def _measures(region: FoundRegion, k: float) -> tuple[float, float, float]:
    """Return the area of the place in mm2, its shorter and its longer side in mm; of the larger of its two boxes."""
    boxes = [b for b in (region.old, region.new) if b]
    x0, y0, x1, y1 = max(boxes, key=lambda b: (b[2] - b[0]) * (b[3] - b[1]))
    sides = sorted(((x1 - x0) / k, (y1 - y0) / k))
    return sides[0] * sides[1], sides[0], sides[1]


def _both_sides(page: Page, region: FoundRegion) -> tuple[dict[str, float], dict[str, float]]:
    """Return what is known of the own side and of the other, weighed where both versions have loose lines."""
    parts: list[tuple[float, _Side, _Side]] = []
    for box, mine in ((region.old, 0), (region.new, 1)):
        if box:
            own, other = _side(page, mine, box), _side(page, 1 - mine, box)
            parts.append((own.loose + 0.1, own, other))
    total = sum(weight for weight, _, _ in parts)

    def mean(sides: list[tuple[float, _Side]]) -> dict[str, float]:
        values = {one.name: sum(w * getattr(s, one.name) for w, s in sides) / total for one in fields(_Side)}
        return {**values, "share": sum(w * s.share for w, s in sides) / total, "loose_mm": values["loose"]}

    return mean([(w, own) for w, own, _ in parts]), mean([(w, other) for w, _, other in parts])


def _side(page: Page, which: int, box: BoxPx) -> _Side:
    un, pair, k = page.unmatched, page.pair, page.pair.px_per_mm
    ridges, loose, along, strength, z = (
        (un.ridges_a, un.a, un.evidence_a, pair.strength_a, pair.za)
        if which == 0
        else (un.ridges_b, un.b, un.evidence_b, pair.strength_b, pair.zb)
    )
    inner, outer = _cut(box), _cut(grown(box, _RING_MM * k))
    lines, mm = float(ridges[inner].sum()) / k, float(loose[inner].sum()) / k
    area = loose[inner].size / k**2
    ring = loose[outer].size / k**2 - area
    here = loose[inner]
    return _Side(
        lines=lines,
        loose=mm,
        area=area,
        ring_lines=float(ridges[outer].sum()) / k - lines,
        ring_loose=float(loose[outer].sum()) / k - mm,
        ring_area=ring,
        spread=_spread(z[inner], here),
        strength=_weighed(strength[inner], here) / page.strong[which],
        along=_weighed(along[inner], here),
    )


def _cut(box: BoxPx) -> tuple[slice, slice]:
    x0, y0, x1, y1 = (max(0, round(v)) for v in box)
    return np.s_[y0 : max(y0 + 1, y1), x0 : max(x0 + 1, x1)]


def _weighed(values: Floats32, weight: Floats32) -> float:
    total = float(weight.sum())
    return float((values * weight).sum()) / total if total > 0 else 0.0


def _spread(z: Complexes, weight: Floats32) -> float:
    """Return how much the loose lines run one way: the length of the mean of their doubled angles."""
    total = float(weight.sum())
    if total <= 0:
        return 0.0
    return float(np.abs((z / np.maximum(np.abs(z), 1e-6) * weight).sum())) / total


def _of_lines(own: Mapping[str, float], other: Mapping[str, float], page_share: float) -> dict[str, float]:
    density = own["loose"] / (own["area"] + 1)
    ring = own["ring_loose"] / (own["ring_area"] + 1)
    return {
        "loose": float(np.log1p(own["loose"])),
        "lines": float(np.log1p(own["lines"])),
        "share": own["share"],
        "share_over_page": own["share"] - page_share,
        "density": min(density, 0.6),
        "isolation": float(np.log((density + 0.005) / (ring + 0.005))),
        "ring_share": own["ring_loose"] / (own["ring_lines"] + 5),
        "spread": own["spread"],
        "strength": own["strength"],
        "along": own["along"],
        "other_lines": float(np.log1p(other["lines"])),
        "other_share": other["share"],
        "lines_ratio": float(np.log((own["lines"] + 5) / (other["lines"] + 5))),
    }


def _agreeing(page: Page, candidate: Candidate) -> float:
    """Return the log of how many other candidates, found by their loose lines, have nearly the same old or new box."""
    mine = candidate.region

    def is_like(other: FoundRegion) -> bool:
        return max(shared_of_union(mine.old, other.old), shared_of_union(mine.new, other.new)) > _MANY

    others = (c for c in page.candidates if c is not candidate and c.similar is None)
    return float(np.log1p(sum(is_like(c.region) for c in others)))


def _paint_in(paint: Paint, box: BoxPx, k: float) -> dict[str, float]:
    area = paint.mm2_in(box)
    mm2 = max(1.0, (box[2] - box[0]) * (box[3] - box[1]) / k**2)
    return {"paint_share": min(1.0, area / mm2), "paint_in": float(np.log1p(area))}


def _paint_features(page: Page, candidate: Candidate) -> dict[str, float]:
    region, k = candidate.region, page.pair.px_per_mm
    area, short, long = _measures(region, k)
    un, cut = page.unmatched, _cut(region.box)
    loose = float(un.a[cut].sum() + un.b[cut].sum()) / k
    lines = float(un.ridges_a[cut].sum() + un.ridges_b[cut].sum()) / k
    strength = float(np.log(max(region.difference, 6.0) / 6))
    return {
        "paint_area": float(np.log1p(region.paint_mm2)),
        "paint_strength": strength,
        "paint_strength_by_area": strength * float(np.log1p(region.paint_mm2)),
        "paint_share": min(1.0, region.paint_mm2 / max(1.0, area)),
        "page_usual": page.paint.usual or 0.0,
        "short": float(np.log1p(short)),
        "aspect": float(np.log((long + 2) / (short + 2))),
        "looseness": page.pair.looseness,
        "loose_lines": float(np.log1p(loose)),
        "loose_share": loose / (lines + 5),
        "is_dry": float(not any(page.paint.painted)),
    }
