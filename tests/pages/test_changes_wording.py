"""Changed places in a few words, and the letters that name them."""

import pytest

from reviews.pages.wording.changes import change_words, place_letter


@pytest.mark.parametrize(
    ("label", "vector_mm", "words"),
    [
        ("moved", (19.7, 0.2), "Moved 20 mm to the right"),
        ("moved", (-3.2, 11.6), "Moved 3 mm to the left and 12 mm down"),
        ("moved", (0.0, -7.0), "Moved 7 mm up"),
        ("moved", (0.3, -0.4), "Moved less than 1 mm"),
        ("removed", None, "Gone"),
        ("added", None, "New"),
        ("colour", None, "Another colour"),
    ],
)
def test_a_change_is_said_in_whole_millimetres_and_plain_directions(label, vector_mm, words):
    assert change_words(label, vector_mm) == words


@pytest.mark.parametrize(
    ("scale", "turn_deg", "words"),
    [
        (1.0, 17.6, "Turned about 18° to the right"),
        (1.0, -9.2, "Turned about 9° to the left"),
        (1.21, 0.0, "About 20 % larger"),
        (0.79, 2.0, "About 20 % smaller"),
        (1.3, 12.0, "Turned about 12° to the right and about 30 % larger"),
        (1.0, 0.0, "Drawn differently"),
    ],
)
def test_a_turned_or_resized_figure_is_called_that(scale, turn_deg, words):
    assert change_words("changed", None, scale=scale, turn_deg=turn_deg) == words


def test_places_are_lettered_beyond_z_without_a_gap():
    assert [place_letter(at) for at in (0, 1, 25, 26, 27, 51, 52, 701, 702)] == [
        "A", "B", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip
