"""Pairs and their comparisons, made once for all tests of a run: one costs two to three seconds."""

from __future__ import annotations

from functools import cache

import cv2

from reviews.geometry import Point, Region
from reviews.imaging.changes.comparing import compare
from reviews.imaging.changes.findings import ComparisonResult, FoundChange
from tests.drawing_pairs import Box, Pair, Recipe, make_pair
from tests.drawing_truth import Pin, pins

cv2.setNumThreads(1)
# One seed for each of the ways from one medium to the next.
HELD_OUT = [("sketch>line", 102), ("sketch>ink", 103), ("sketch>full", 104), ("line>ink", 105), ("flats>full", 107),
            ("full>full", 108)]  # fmt: skip
# Within one medium, with nothing but small inner changes or new colours: kind, seed, what was edited.
ONE_MEDIUM = [("full>full", 137, "detail"), ("line>line", 132, "detail"), ("flats>flats", 133, "recolour")]
WIDTH_PX = 1200


@cache
def pair_of(kind: str, seed: int, **how: object) -> Pair:
    return make_pair(Recipe(kind, seed, width_px=WIDTH_PX, **how))  # type: ignore[arg-type]


@cache
def compared(kind: str, seed: int, **how: object) -> tuple[Pair, list[Pin], ComparisonResult]:
    """Return the pair, its pins, and its comparison with a note on every pin."""
    pair = pair_of(kind, seed, **how)
    placed = pins(pair)
    return pair, placed, compare(pair.a, pair.b, pair.width_mm, [note_at(pair, p.box) for p in placed])


@cache
def compared_with_itself(kind: str, seed: int) -> ComparisonResult:
    pair = pair_of(kind, seed)
    return compare(pair.a, pair.a, pair.width_mm)


@cache
def compared_across(one: tuple[str, int], other: tuple[str, int]) -> ComparisonResult:
    """Compare the first picture of one scene with the second of another: they do not belong together."""
    return compare(pair_of(*one).a, pair_of(*other).b, pair_of(*one).width_mm)


def height_mm(pair: Pair) -> float:
    return pair.a.shape[0] * pair.mm_per_px


def note_at(pair: Pair, box: Box) -> Region:
    w, h = pair.width_mm, height_mm(pair)
    return Region("box", (Point(box[0] / w, box[1] / h), Point(box[2] / w, box[3] / h)))


def boxes_mm(pair: Pair, change: FoundChange) -> tuple[Box | None, Box | None]:
    """Return where the change was and is, in mm on A's page."""
    w, h = pair.width_mm, height_mm(pair)
    old, new = (b and (b.x0 * w, b.y0 * h, b.x1 * w, b.y1 * h) for b in (change.old_on_a, change.new_on_a))
    return old, new
