"""What may be made of which sheets, where it stands after a choice, and its recipe in words."""

from __future__ import annotations

import pytest

from reviews.rules.derived import (
    MAX_SHEETS,
    Choice,
    DerivedState,
    Making,
    SheetState,
    asked_words,
    check_asked,
    made_name,
    recipe_words,
    state_after,
)
from reviews.rules.states import PictureState, Refused


def sheet(name: str = "a.png", state: PictureState = PictureState.READY, side_px: int = 3000) -> SheetState:
    return SheetState(name, state, side_px, 2000)


def refusal_of(making: Making, sheets: list[SheetState]) -> str:
    with pytest.raises(Refused) as refused:
        check_asked(making, sheets)
    return refused.value.code


def test_two_to_six_sheets_are_joined_and_the_ink_is_taken_from_one() -> None:
    for n in (2, MAX_SHEETS):
        check_asked(Making.JOIN, [sheet()] * n)
    check_asked(Making.INK, [sheet()])


@pytest.mark.parametrize(
    ("making", "sheets", "code"),
    [
        (Making.JOIN, [], "one-sheet"),
        (Making.JOIN, [sheet()], "one-sheet"),
        (Making.JOIN, [sheet()] * (MAX_SHEETS + 1), "too-many-sheets"),
        (Making.INK, [], "ink-of-one"),
        (Making.INK, [sheet(), sheet()], "ink-of-one"),
        (Making.JOIN, [sheet(), sheet(state=PictureState.RECEIVED)], "sheet-unread"),
        (Making.JOIN, [sheet(), sheet(state=PictureState.REFUSED)], "sheet-refused"),
        (Making.INK, [sheet(side_px=10_001)], "sheet-too-large"),
    ],
)
def test_what_cannot_be_made_is_refused_before_any_work(making, sheets, code) -> None:
    assert refusal_of(making, sheets) == code


@pytest.mark.parametrize("state", [DerivedState.MADE, DerivedState.KEPT, DerivedState.DROPPED])
@pytest.mark.parametrize(
    ("choice", "after"),
    [(Choice.KEEP, DerivedState.KEPT), (Choice.DROP, DerivedState.DROPPED), (Choice.AGAIN, DerivedState.MADE)],
)
def test_every_choice_can_be_taken_back(state, choice, after) -> None:
    assert state_after(state, choice) == after


@pytest.mark.parametrize(
    ("state", "code"), [(DerivedState.ASKED, "still-being-made"), (DerivedState.FAILED, "was-not-made")]
)
def test_what_is_not_there_can_be_put_away_and_nothing_else(state, code) -> None:
    assert state_after(state, Choice.DROP) == DerivedState.DROPPED
    for choice in (Choice.KEEP, Choice.AGAIN):
        with pytest.raises(Refused) as refused:
            state_after(state, choice)
        assert refused.value.code == code


def test_names_say_what_was_made() -> None:
    assert made_name(Making.JOIN, ["tarn left.tif", "tarn right.tif"]) == "tarn left, joined.png"
    assert made_name(Making.INK, ["pail.scan.tiff"]) == "pail.scan, ink only.png"
    assert len(made_name(Making.JOIN, ["x" * 255, "b"])) <= 255
    assert asked_words(Making.JOIN, ["a", "b", "c"]) == "join a, b and c"
    assert asked_words(Making.INK, ["a"]) == "leave only the ink of a"


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
