"""What moved, came and went, held against scenes whose edits are known; and what is said in words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reviews.geometry import Box
from reviews.imaging.arrays import BoxPx
from reviews.imaging.changes.comparing import compare, with_remarks
from reviews.imaging.changes.findings import FoundChange, Remark
from reviews.imaging.changes.measured import touch_bounds
from reviews.imaging.changes.pieces import merged
from reviews.imaging.changes.regions import FoundRegion, overlap_of_smaller
from reviews.pages.changes_file import comparison_json
from reviews.pages.wording.changes import change_sentence
from tests.drawing_truth import counted, hits
from tests.imaging.compared import (
    HELD_OUT,
    boxes_mm,
    compared,
    compared_across,
    compared_with_itself,
    note_at,
    pair_of,
)

pytestmark = pytest.mark.slow


def test_precision_and_recall_over_the_small_set():
    right = shown = found = wanted = 0
    for kind, seed in HELD_OUT:
        pair, _, comparison = compared(kind, seed)
        boxes = [boxes_mm(pair, c) for c in comparison.changes]
        edits = counted(pair)
        right += sum(any(hits(*b, e) for e in edits) for b in boxes)
        shown += len(boxes)
        large = [e for e in edits if e.kind not in ("detail", "recolour")]
        found += sum(any(hits(*b, e) for b in boxes) for e in large)
        wanted += len(large)
    assert wanted >= 10, "the small set must hold edits to be found"
    # Eight pairs guard against a step back; how good it is at large is what tests/bench/changes.py prints.
    assert right / shown >= 0.82
    assert found / wanted >= 0.66


def test_a_move_is_told_in_millimetres_at_print_size():
    far = 20.0
    pair, _, comparison = compared("sketch>line", 120, n_edits=1, edit_kind="move", move_mm=far)
    edit = pair.edits[0]
    moves = [c for c in comparison.changes if c.vector_mm and hits(*boxes_mm(pair, c), edit)]
    assert moves
    off = np.hypot(moves[0].vector_mm[0] - edit.shift_mm[0], moves[0].vector_mm[1] - edit.shift_mm[1])
    assert off < 1.0
    assert comparison.largest_move_mm == pytest.approx(far, abs=1.0)


def test_a_redraw_in_another_medium_with_nothing_moved_shows_no_place():
    _, _, comparison = compared("sketch>ink", 121, n_edits=0)
    assert comparison.changes == ()
    # Its edges lie beyond the first one's, and so it is not said that nothing was found.
    codes = ["no-longer-shown", "newly-shown", "nothing-marked", *(["n-unsure"] if comparison.unsure else [])]
    assert [remark.code for remark in comparison.remarks] == codes


def test_new_colours_are_found_in_the_same_medium():
    pair, _, comparison = compared("full>full", 122, n_edits=3, edit_kind="recolour")
    boxes = [boxes_mm(pair, c) for c in comparison.changes]
    edits = counted(pair)
    assert len(edits) >= 2
    assert sum(any(hits(*b, e) for b in boxes) for e in edits) >= len(edits) - 1


def test_the_same_pixels_give_the_same_findings():
    pair = pair_of("line>ink", 105)
    _, placed, found = compared("line>ink", 105)
    assert compare(pair.a, pair.b, pair.width_mm, [note_at(pair, p.box) for p in placed]) == found


def test_a_picture_against_itself_shows_nothing():
    found = compared_with_itself("line>ink", 105)
    assert found.changes == () and found.largest_move_mm < 0.1


def test_pictures_that_cannot_be_aligned_are_said_to_stand_side_by_side():
    found = compared_across(("sketch>full", 104), ("full>full", 108))
    assert found.alignment.state == "not-aligned" and found.changes == () and found.redraw_mm is None
    assert found.remarks == (Remark("not-aligned"),)


def test_each_of_two_readings_has_its_own_places(monkeypatch):
    pair, placed, plain = compared("sketch>line", 120, n_edits=1, edit_kind="move", move_mm=20.0)
    first = plain.alignment.readings[0]
    a, b, c, d, e, f = first.a_to_b_px
    aside = replace(first, a_to_b_px=(a, b, c + 40 * a, d, e, f), score=0.9 * first.score)
    two = replace(plain.alignment, state="two-readings", readings=(first, aside))
    monkeypatch.setattr("reviews.imaging.changes.laying.align", lambda *_, **__: two)
    still = next(p for p in placed if p.kind == "still")
    found = compare(pair.a, pair.b, pair.width_mm, [note_at(pair, still.box)])
    assert found.changes == plain.changes
    assert [note.state for note in found.notes] == ["here"]
    # If that figure had been the one to stay where it was, this one would have gone 40 px to the left of the page.
    assert found.other_notes[0].state == "followed"
    assert abs(found.other_notes[0].vector_mm[0] + 40 * pair.mm_per_px) < 1
    assert len(found.other_changes) > 0 and found.other_changes != found.changes
    assert len(comparison_json(found, touch_bounds())["other_changes"]) == len(found.other_changes)
    assert plain.other_changes == () and plain.other_notes == ()


def test_remarks_change_nothing_else_that_was_found():
    found = compared_with_itself("line>ink", 105)
    others = replace(found, remarks=(), other_changes=(change_of("moved"),), other_notes=())
    again = with_remarks(others)
    assert again.other_changes == others.other_changes and again.remarks == found.remarks
    assert replace(again, remarks=()) == others


def change_of(label):
    box = Box(0.1, 0.1, 0.2, 0.2)
    return FoundChange(label=label, old_on_a=box, new_on_a=box, on_b=box, vector_mm=(3.0, 0.0), mass_mm=50.0, score=0.9)


def test_free_redrawing_is_said_and_small_moves_are_not_shown():
    _, _, comparison = compared("sketch>ink", 123, wobble=4.0, figure_jitter=1.0, n_edits=0)
    assert comparison.least_move_mm > 1.5
    assert "redrawn-freely" in [remark.code for remark in comparison.remarks]


def test_everything_can_be_written_as_plain_values():
    _, _, comparison = compared("sketch>ink", 103)
    plain = comparison_json(comparison, touch_bounds())
    assert len(plain["changes"]) == len(comparison.changes)
    for change in plain["changes"]:
        assert all(0 <= v <= 1 for v in change["on_a"] + change["on_b"])
        assert change["sentence"]


def test_a_print_width_of_nothing_is_refused():
    pair = pair_of("line>ink", 105)
    with pytest.raises(ValueError, match="print width"):
        compare(pair.a, pair.b, 0.0)


def region(label: str, box: BoxPx, mass: float, vector: tuple[float, float] | None = None) -> FoundRegion:
    new = None if label == "removed" else box
    old = None if label == "added" else box
    return FoundRegion(label=label, old=old, new=new, vector_mm=vector, mass_mm=mass)


def test_lines_that_went_and_came_on_one_spot_are_a_change():
    (joint,) = merged([region("removed", (0, 0, 40, 40), 100), region("added", (5, 5, 45, 45), 80)])
    assert joint.label == "changed" and joint.mass_mm == 180 and joint.box == (0, 0, 45, 45)


def test_two_pieces_with_one_vector_are_one_move_and_others_are_not():
    near = [region("moved", (0, 0, 40, 40), 100, (5, 0)), region("moved", (50, 0, 90, 40), 90, (5.5, 0.2))]
    assert len(merged(near)) == 1
    assert len(merged([near[0], region("moved", (50, 0, 90, 40), 90, (-9, 4))])) == 2


def test_figures_that_only_touch_corners_are_two_places():
    aside = [region("changed", (0, 0, 100, 100), 300), region("changed", (102, 102, 200, 200), 300)]
    assert len(merged(aside, 14.0)) == 2
    pieces = [region("changed", (0, 0, 100, 100), 300), region("changed", (20, 104, 90, 140), 80)]
    assert len(merged(pieces, 14.0)) == 1


def test_overlap_is_a_share_of_the_smaller_box():
    assert overlap_of_smaller((0, 0, 10, 10), (5, 5, 7, 7)) == 1.0
    assert overlap_of_smaller((0, 0, 10, 10), (20, 20, 30, 30)) == 0.0


def test_a_move_is_said_with_its_directions():
    _, _, comparison = compared("sketch>line", 120, n_edits=1, edit_kind="move", move_mm=20.0)
    move = next(c for c in comparison.changes if c.vector_mm)
    x, y = move.vector_mm
    said = change_sentence(move.label, move.vector_mm)
    assert ("right" in said) == (x > 0) and ("down" in said) == (y > 0) and f"{abs(x):.1f} mm" in said
