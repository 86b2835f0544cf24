"""Pictures made from sheets, in words: what was asked for, how far it is, and the recipe."""

from __future__ import annotations

from reviews.pages.wording.derived import asked_words, made_sentence, recipe_words, step_words
from reviews.rules.derived import Making


def test_what_is_asked_for_names_the_sheets() -> None:
    assert asked_words(Making.JOIN, ["a", "b", "c"]) == "join a, b and c"
    assert asked_words(Making.INK, ["a"]) == "leave only the ink of a"


def test_before_anything_is_done_it_waits_for_its_turn() -> None:
    assert step_words({}) == "Waiting for its turn"
    assert step_words({"code": "reading-sheet", "name": "tarn {left}.png"}) == "Reading tarn {left}.png"


def test_what_was_made_is_said_in_a_line() -> None:
    joined = {"sheets": [{}, {}], "residual_px": 0.126}
    assert made_sentence(joined) == "2 sheets joined; what they share lies 0.13 px apart."
    ink = {"pencil": "blue", "pencil_share": 0.1149}
    assert made_sentence(ink) == "The blue under-drawing, 11.5% of the picture, was taken out."


def test_a_joining_is_told_sheet_by_sheet() -> None:
    recipe = {
        "sheets": [
            {"turn_degrees": 0.0, "scale": 1.0, "overlap": 0.0},
            {"turn_degrees": 0.8, "scale": 1.002, "overlap": 0.15},
            {"turn_degrees": -179.7, "scale": 1.0001, "overlap": 0.3},
        ],
        "residual_px": 0.043,
    }
    assert recipe_words(Making.JOIN, ["a", "b", "c"], recipe) == [
        "a lies as it was scanned.",
        "b is turned 0.8° clockwise and enlarged to 100.2 %; 15 % of it overlaps.",
        "c is turned 179.7° anticlockwise and kept at its size; 30 % of it overlaps.",
        "Where the sheets overlap they meet within 0.1 pixels.",
    ]


def test_taking_the_pencil_out_is_told() -> None:
    recipe = {"pencil": "blue", "pencil_share": 0.115}
    assert recipe_words(Making.INK, ["a"], recipe) == [
        "The blue under-drawing of a is taken out; it covered 12 % of the scan."
    ]
    faint = recipe_words(Making.INK, ["a"], recipe | {"pencil_share": 0.004})
    assert "less than 1 % of the scan" in faint[0]
