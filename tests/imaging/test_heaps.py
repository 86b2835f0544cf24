"""Loose lines gathered at two scales, and turned or resized figures found as such."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from reviews.geometry import Box
from reviews.imaging.changes.heaps import find_heaps, solid_box
from reviews.imaging.changes.measured import touch_bounds
from reviews.imaging.changes.regions import overlap_of_smaller, shared_of_union
from reviews.pages.changes_file import comparison_json
from tests.drawing_truth import hits
from tests.imaging.compared import HELD_OUT, boxes_mm, compared

PX_PER_MM = 2.4


def two_figures_apart(mm: float) -> np.ndarray:
    """Two squares of loose line, 20 mm wide, so far apart; 1 on the line."""
    weight = np.zeros((200, 400), np.float32)
    side, gap = round(20 * PX_PER_MM), round(mm * PX_PER_MM)
    for left in (40, 40 + side + gap):
        weight[60 : 60 + side, left : left + side : 6] = 1
        weight[60 : 60 + side : 6, left : left + side] = 1
    return weight


def heaps(weight: np.ndarray, closing_mm: float) -> list:
    return find_heaps(weight, weight > 0, PX_PER_MM, closing_mm=closing_mm, density=0.06, least_mm=10)


def test_figures_a_little_apart_are_two_heaps_closely_looked_at_and_one_from_afar():
    weight = two_figures_apart(9.0)
    assert len(heaps(weight, 2.0)) == 2 and len(heaps(weight, 12.0)) == 1
    assert heaps(weight, 12.0)[0].mass_mm == pytest.approx(sum(h.mass_mm for h in heaps(weight, 2.0)))


def test_a_crumb_beside_a_figure_does_not_stretch_its_box():
    weight = two_figures_apart(60.0)
    (alone, *_) = heaps(weight, 2.0)
    weight[40:43, 50:53] = 1
    wide = max(heaps(weight, 12.0), key=lambda heap: -heap.box[1])
    assert wide.box[1] < alone.box[1] - 10, "the crumb must belong to the heap, or the test shows nothing"
    assert abs(solid_box(wide)[1] - solid_box(alone)[1]) < 2


def test_lighter_heaps_than_asked_for_are_dropped():
    weight = two_figures_apart(9.0)
    mass = heaps(weight, 2.0)[0].mass_mm
    assert not find_heaps(weight, weight > 0, PX_PER_MM, closing_mm=2.0, density=0.06, least_mm=mass + 1)


@pytest.mark.slow
def test_no_place_is_told_twice():
    n = 0
    for kind, seed in HELD_OUT:
        _, _, found = compared(kind, seed)
        for one, other in combinations(found.changes, 2):
            n += 1
            assert shared_of_union(as_px(one.on_a), as_px(other.on_a)) <= 0.75
            if one.label == other.label and not one.vector_mm:
                assert overlap_of_smaller(as_px(one.on_a), as_px(other.on_a)) <= 0.95
    assert n > 5, "there must be pairs of places to be held against each other"


def as_px(box: Box) -> tuple[float, float, float, float]:
    return box.x0, box.y0, box.x1, box.y1


@pytest.mark.slow
def test_a_figure_that_moved_is_not_called_new_where_it_went_to():
    _, _, found = compared("line>ink", 105, n_edits=2, edit_kind="move", move_mm=18.0, is_still=True)
    moved = [c for c in found.changes if c.vector_mm]
    assert moved, "something must have moved, or the test shows nothing"
    for move in moved:
        others = [c for c in found.changes if c is not move and c.new_on_a]
        assert all(shared_of_union(as_px(c.new_on_a), as_px(move.new_on_a)) <= 0.4 for c in others)


@pytest.mark.slow
def test_nobody_is_told_that_nothing_was_found_of_a_small_figure_that_was_turned():
    # Only the ends of this boat, 34 mm long and turned by 16 degrees, lie anywhere else: no box fits it.
    pair, _, found = compared("line>ink", 123, n_edits=1, edit_kind="rotate", is_still=True)
    (edit,) = pair.edits
    assert edit.kind == "rotate" and edit.area_mm2 > 600
    assert "nothing-found" not in [remark.code for remark in found.remarks]
    assert any(overlap_of_smaller(b, edit.old_box) > 0.3 for c in found.unsure for b in boxes_mm(pair, c) if b)


@pytest.mark.slow
@pytest.mark.parametrize(("edit_kind", "kind", "seed"), [("rotate", "line>ink", 125), ("scale", "line>ink", 124)])
def test_a_turned_or_resized_figure_is_found_whole_and_called_so(edit_kind, kind, seed):
    pair, _, found = compared(kind, seed, n_edits=1, edit_kind=edit_kind, is_still=True)
    edit = pair.edits[0]
    motion = pair.motions[edit.ident][:2, :2]
    scale, turn = float(np.sqrt(np.linalg.det(motion))), float(np.rad2deg(np.arctan2(motion[1, 0], motion[0, 0])))
    mine = [c for c in found.changes if hits(*boxes_mm(pair, c), edit)]
    assert mine and mine[0].scale == pytest.approx(scale, abs=0.06)
    assert mine[0].turn_deg == pytest.approx(turn, abs=4)
    said = comparison_json(found, touch_bounds())["changes"][0]["sentence"]
    assert ("larger" in said or "smaller" in said) if edit_kind == "scale" else "Turned about" in said
