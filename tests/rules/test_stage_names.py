"""A book's own names for its stages, over codes that stay."""

from __future__ import annotations

import pytest

from reviews.rules.stage_names import checked_names, name_of
from reviews.rules.states import Refused, StageKind, in_a_sentence


def test_a_stage_has_its_books_name_or_else_the_usual_one():
    own = {"sketch": "Rough sketch"}
    assert (name_of("sketch", own), name_of("colour", own)) == ("Rough sketch", "Colour")


@pytest.mark.parametrize(
    ("name", "inside"), [("Rough sketch", "rough sketch"), ("F&G", "F&G"), ("UV plate", "UV plate"), ("X", "X")]
)
def test_inside_a_sentence_a_name_is_small_unless_it_is_letters(name, inside):
    assert in_a_sentence(name) == inside


def test_an_empty_name_gives_the_usual_one_back():
    own = checked_names({StageKind.SKETCH: "Rough  sketch "}, {}, opened=())
    assert own == {"sketch": "Rough sketch"}
    assert checked_names({StageKind.SKETCH: ""}, own, opened=()) == {}
    assert checked_names({StageKind.SKETCH: "Sketch"}, own, opened=()) == {}


@pytest.mark.parametrize(
    ("typed", "code"),
    [("x" * 41, "stage-name-long"), ("Rough, tight", "stage-name-odd"), ("Rough: 1", "stage-name-odd"),
     ("Rough\u202esketch", "stage-name-odd"), ("COLOUR", "stage-name-twice")],
)  # fmt: skip
def test_a_name_that_would_mislead_is_refused(typed, code):
    with pytest.raises(Refused, match=code):
        checked_names({StageKind.SKETCH: typed}, {}, opened=())


def test_two_stages_may_change_names_at_once():
    own = {"sketch": "Roughs", "colour": "Painting"}
    swapped = checked_names({StageKind.SKETCH: "Painting", StageKind.COLOUR: "Roughs"}, own, opened=())
    assert swapped == {"sketch": "Painting", "colour": "Roughs"}


def test_no_stage_takes_the_usual_name_of_another_as_agreed_terms_would_read_otherwise():
    with pytest.raises(Refused, match="stage-name-twice"):
        checked_names({StageKind.SKETCH: "Colour", StageKind.COLOUR: "Sketch"}, {}, opened=())


def test_a_stage_that_opened_keeps_its_name_and_may_be_named_as_it_is():
    own = {"ideas": "Thumbnails"}
    with pytest.raises(Refused, match="stage-name-opened"):
        checked_names({StageKind.IDEAS: "Scribbles"}, own, opened={"ideas"})
    with pytest.raises(Refused, match="stage-name-opened"):
        checked_names({StageKind.IDEAS: ""}, own, opened={"ideas"})
    assert checked_names({StageKind.IDEAS: "Thumbnails"}, own, opened={"ideas"}) == own


def test_a_name_of_before_that_is_a_stages_own_name_now_keeps_nobody_from_naming_others():
    own = {"proof": "F&Gs"}
    assert checked_names({StageKind.IDEAS: "Thumbnails"}, own, opened=("proof",))["proof"] == "F&Gs"
    with pytest.raises(Refused, match="stage-name-twice"):
        checked_names({StageKind.PROOF: "F&Gs"}, {}, opened=())
