"""What is shown around a marked place."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.geometry import Point, Region, region_from_json
from reviews.pages.wording.notes import place_words
from reviews.rules.crops import LEAST_SHARE, crop_around

unit = st.floats(0, 1)


def box(x0, y0, x1, y1):
    return region_from_json({"kind": "box", "points": [[x0, y0], [x1, y1]]})


@given(st.lists(st.tuples(unit, unit), min_size=3, max_size=6), st.integers(100, 7000), st.integers(100, 7000))
def test_a_crop_lies_on_the_picture_and_holds_the_whole_mark(points, width, height):
    region = Region("outline", tuple(Point(x, y) for x, y in points))
    crop, marked = crop_around(region, width, height), region.box
    assert 0 <= crop.x0 < crop.x1 <= 1 and 0 <= crop.y0 < crop.y1 <= 1
    assert crop.x0 <= marked.x0 + 1e-9 and marked.x1 <= crop.x1 + 1e-9
    assert crop.y0 <= marked.y0 + 1e-9 and marked.y1 <= crop.y1 + 1e-9


def test_a_point_is_shown_with_what_is_around_it():
    crop = crop_around(Region("point", (Point(0.5, 0.5),)), 5976, 3024)
    assert crop.width == pytest.approx(LEAST_SHARE, abs=1e-6)
    assert crop.width * 5976 / (crop.height * 3024) == pytest.approx(4 / 3, abs=1e-3)
    assert crop.centre.x == pytest.approx(0.5)


def test_near_an_edge_the_crop_stays_as_large():
    at_edge, middle = (crop_around(Region("point", (Point(x, 0.5),)), 4000, 2000) for x in (0.0, 0.5))
    assert at_edge.x0 == 0
    assert at_edge.width == pytest.approx(middle.width)


@pytest.mark.parametrize(
    ("region", "words"),
    [
        (box(0.4, 0.4, 0.6, 0.6), "in the middle"),
        (box(0, 0, 0.1, 0.1), "at the top left"),
        (box(0.45, 0.8, 0.55, 1), "at the bottom"),
        (box(0.9, 0.45, 1, 0.55), "at the right"),
    ],
)
def test_a_place_is_told_in_words(region, words):
    assert place_words(region) == words
