"""A changed place is asked for where a note lies on it, or close beside it."""

import pytest

from reviews.geometry import Box
from reviews.rules.asked_places import is_asked

PLACE = Box(0.40, 0.40, 0.50, 0.50)


@pytest.mark.parametrize(
    ("note", "asked"),
    [
        (Box(0.45, 0.45, 0.45, 0.45), True),  # a point on it
        (Box(0.52, 0.45, 0.52, 0.45), True),  # a point beside it
        (Box(0.54, 0.45, 0.54, 0.45), False),
        (Box(0.40, 0.55, 0.50, 0.60), True),  # 0.05 below on a picture twice as wide as high: nearer than across
        (Box(0.40, 0.57, 0.50, 0.60), False),
    ],
)
def test_near_is_measured_alike_across_and_down(note, asked):
    assert is_asked(PLACE, [note], 2.0) is asked


def test_on_an_upright_picture_the_longer_side_counts():
    assert is_asked(PLACE, [Box(0.55, 0.45, 0.55, 0.45)], 0.5)
    assert not is_asked(PLACE, [Box(0.45, 0.54, 0.45, 0.54)], 0.5)


def test_without_notes_nothing_was_asked():
    assert not is_asked(PLACE, [], 1.0)
