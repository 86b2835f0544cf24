"""What stands in a letter, and in which order."""

import pytest

from reviews.geometry import Box
from reviews.rules.letters import PlacedNote, clusters, number_notes, overlapping


def placed(note, box=(0.1, 0.1, 0.3, 0.3), *, passage=1, picture=1, author=1):
    bounds = Box(*box)
    return PlacedNote(
        note=note,
        passage=passage,
        picture=picture,
        author=author,
        bounds=bounds,
        order=(bounds.centre.x, bounds.centre.y),
    )


def test_notes_are_numbered_by_passage_in_page_order_then_picture_then_from_the_top():
    notes = [
        placed(1, (0, 0.8, 0.1, 0.9), passage=20),
        placed(2, (0, 0.1, 0.1, 0.2), passage=20),
        placed(3, passage=10, picture=2),
        placed(4, (0, 0.7, 0.1, 0.8), passage=10),
    ]
    assert number_notes(notes, [10, 20]) == {4: 1, 3: 2, 2: 3, 1: 4}


def test_notes_by_two_people_about_one_place_are_paired():
    assert overlapping([placed(1), placed(2, (0.15, 0.12, 0.32, 0.3), author=2)]) == [(1, 2)]


@pytest.mark.parametrize(
    "other",
    [
        placed(2, (0.15, 0.12, 0.32, 0.3)),  # the same person may say two things about a place
        placed(2, (0.29, 0.29, 0.6, 0.6), author=2),  # neighbours that barely touch
        placed(2, author=2, picture=2),
        placed(2, author=2, passage=2),  # picture 1 of another passage is another picture
    ],
)
def test_notes_that_are_not_about_one_place_by_two_people_are_left_alone(other):
    assert overlapping([placed(1), other]) == []


def test_a_point_inside_a_box_is_about_the_same_place():
    assert overlapping([placed(1), placed(2, (0.2, 0.2, 0.2, 0.2), author=2)]) == [(1, 2)]


def test_a_note_that_meets_two_others_brings_all_three_together():
    left, right = placed(1, (0.0, 0.0, 0.4, 0.4)), placed(2, (0.5, 0.0, 0.9, 0.4), author=2)
    bridge = placed(3, (0.25, 0.0, 0.65, 0.4), author=3)
    apart = placed(4, (0.0, 0.8, 0.1, 0.9), author=2)
    assert clusters([apart, left, right, bridge]) == [[4], [1, 2, 3]]
