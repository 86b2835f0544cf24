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


def test_places_are_lettered_beyond_z_without_a_gap():
    assert [place_letter(at) for at in (0, 1, 25, 26, 27, 51, 52, 701, 702)] == [
        "A", "B", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip
