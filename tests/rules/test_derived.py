"""What may be made of which sheets, where it stands after a choice, and its recipe in words."""

from __future__ import annotations

import pytest

from reviews.rules.derived import (
    MAX_SHEETS,
    Choice,
    DerivedState,
    Making,
    SheetState,
    check_asked,
    made_name,
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
