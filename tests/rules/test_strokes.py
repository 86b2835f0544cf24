"""What is drawn over the art: read, bounded, and parted by pressure."""

from __future__ import annotations

import pytest

from reviews.rules.states import Refused
from reviews.rules.strokes import MOST_POINTS, MOST_STROKES, box_around, checked_strokes, runs_of, width_at

LINE = [[0.1, 0.2, 0.5], [0.3, 0.2, 0.5]]


def test_a_drawing_is_kept_as_it_is_but_for_what_nobody_sees():
    assert checked_strokes([[[0.123456, 1, 0.49], [0, 0.2, 1]]]) == [[[0.1235, 1, 0.5], [0, 0.2, 1.0]]]
    assert checked_strokes([]) == []


NONE_OF_THEM = (
    None, {}, "x", [[]], [LINE, None], [[[0.1, 0.2]]], [[[0.1, 0.2, 0.3, 0.4]]], [[[True, 0.2, 0.5]]],
    [[["0.1", 0, 0]]], [[[float("nan"), 0, 0]]], [[[-0.1, 0, 0]]], [[[0, 1.1, 0]]], [[[0, 0, 2]]],
    [[[0, 0, float("inf")]]], [0.1, 0.2],
)  # fmt: skip


@pytest.mark.parametrize("raw", NONE_OF_THEM)
def test_what_is_no_drawing_is_refused(raw):
    with pytest.raises(Refused) as refused:
        checked_strokes(raw)
    assert refused.value.code == "strokes-unreadable"


def test_too_many_strokes_and_too_many_points_are_refused():
    assert len(checked_strokes([LINE] * MOST_STROKES)) == MOST_STROKES
    with pytest.raises(Refused) as many:
        checked_strokes([LINE] * (MOST_STROKES + 1))
    assert many.value.code == "strokes-too-many"
    with pytest.raises(Refused) as long:
        checked_strokes([[[0.1, 0.1, 0.5]] * (MOST_POINTS + 1)])
    assert long.value.code == "strokes-too-long"


def test_the_place_of_a_drawing_is_a_box_that_has_an_area_and_stays_on_the_picture():
    (x0, y0), (x1, y1) = box_around([[[0.0, 0.5, 0.5], [1.0, 0.5, 0.5]]])["points"]
    assert (x0, x1) == (0.0, 1.0) and y0 < 0.5 < y1


def test_a_stroke_is_parted_where_the_pressure_changes_and_no_gap_is_left():
    stroke = [[0.1, 0.1, 0.25], [0.2, 0.1, 0.25], [0.3, 0.1, 1.0], [0.4, 0.1, 1.0]]
    first, second = runs_of([stroke])
    assert first.points[-1] == second.points[0] == (0.3, 0.1)
    assert (first.width, second.width) == (width_at(0.25), width_at(1.0)) and first.width < second.width
    (dot,) = runs_of([[[0.5, 0.5, 0.5]]])
    assert dot.points == ((0.5, 0.5),)
