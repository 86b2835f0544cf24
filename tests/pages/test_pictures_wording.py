"""Every refusal that imaging gives has its sentence, and no sentence is without its values."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from reviews.imaging.files import kinds
from reviews.imaging.limits import Limits, pages_refusal, size_refusal
from reviews.pages.wording import pictures
from reviews.pages.wording.changes import remark_sentence
from reviews.pages.wording.coded import said
from reviews.pages.wording.derived import step_words
from reviews.pages.wording.pictures import assumed_words, refusal_sentence

IMAGING = Path(__file__).resolve().parents[2] / "reviews/imaging"
# What no code in imaging can leave out, with a value for each name that a sentence may ask for.
VALUES = {
    "kind": "PDF", "page": 3, "n_pages": 2, "most": 500, "width_px": 70_000, "height_px": 9_000, "most_px": 65_535,
    "n_bytes": 2_000_000_000, "most_bytes": 1 << 30, "what": "gif", "pencil": "red", "sheets": ["a.png", 3],
    "times": 2.0, "larger": "a.png", "smaller": 2, "because": "damaged", "n": 3, "one": 1, "two": 2, "name": "a.png",
    "bits": 64, "numbers": "complex", "compression": 1, "is_lossless": False, "is_planar": False,
}  # fmt: skip


def refusals_in_imaging() -> set[tuple[str, str | None]]:
    """Find each code that is given somewhere in imaging, with its cause where one is named."""
    found = set()
    for path in IMAGING.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            is_refusal = isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("Refusal", "CouldNotJoin")
            if is_refusal and isinstance(node.args[0], ast.Constant):
                given = node.args[1] if len(node.args) > 1 else None
                how = None
                if isinstance(given, ast.Dict):
                    names = {k.value: v for k, v in zip(given.keys, given.values, strict=True) if k is not None}
                    how = getattr(names.get("how"), "value", None)
                found.add((node.args[0].value, how))
    return found


def steps_in_imaging() -> set[str]:
    """Find each step of progress that is named somewhere in imaging."""
    dicts = (
        node
        for path in IMAGING.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Dict)
    )
    return {
        value.value
        for node in dicts
        for key, value in zip(node.keys, node.values, strict=True)
        if isinstance(key, ast.Constant) and key.value == "code" and isinstance(value, ast.Constant)
    }


def test_the_search_finds_what_there_is():
    assert len(refusals_in_imaging()) > 25 and {"writing-ink", "compared-sheets"} <= steps_in_imaging()


@pytest.mark.parametrize(("code", "how"), sorted(refusals_in_imaging(), key=str))
def test_every_refusal_of_imaging_has_its_sentence(code, how):
    sentence = refusal_sentence(code, VALUES | ({"how": how} if how else {}))
    assert "no words for" not in sentence and sentence.endswith(".") and len(sentence) > 30


@pytest.mark.parametrize("code", sorted(steps_in_imaging()))
def test_every_step_of_imaging_has_its_words(code):
    assert "no words for" not in step_words({"code": code, **VALUES})


def test_every_kind_that_is_not_taken_is_named():
    for _, what in kinds._OTHERS:
        assert "another kind" not in refusal_sentence("unsupported-kind", {"what": what})


def test_sizes_and_pages_are_said_in_figures():
    limits = Limits()
    area, side = size_refusal(30_000, 20_000, limits), size_refusal(70_000, 5, limits)
    pages = pages_refusal(900, limits)
    assert "30000 × 20000 pixels, 600 million in all; at most 400 million" in refusal_sentence(area.code, area.values)
    assert "no side may be longer than 65535 pixels" in refusal_sentence(side.code, side.values)
    assert "This file has 900 pages; at most 500 are taken." in refusal_sentence(pages.code, pages.values)


def test_the_sheet_at_fault_is_named_before_what_is_wrong_with_it():
    sentence = refusal_sentence("locked", {"kind": "PDF", "sheet": 2, "sheet_name": "right.pdf"})
    assert sentence.startswith("Sheet 2 (right.pdf): This PDF is locked")


def test_a_picture_too_large_once_joined_says_by_how_much():
    values = {"because": "too-many-pixels", "how": "side", "width_px": 70_000, "height_px": 10, "most_px": 65_535}
    sentence = refusal_sentence("too-large-together", values)
    assert sentence.startswith("Joined, the sheets would be too large. This picture is 70000 × 10 pixels;")


def test_plurals_are_right():
    assert "1 page;" in refusal_sentence("no-such-page", {"how": "fewer-pages", "n_pages": 1, "page": 4})
    assert "2 pages;" in refusal_sentence("no-such-page", {"how": "fewer-pages", "n_pages": 2, "page": 4})
    assert remark_sentence({"code": "n-places", "n": 1}) == "1 place to look at, heaviest first."
    assert remark_sentence({"code": "n-places", "n": 2}) == "2 places to look at, heaviest first."


def test_what_colours_are_taken_for_is_said_and_nothing_where_the_profile_was_used():
    assert "at 300 ppi" in assumed_words({"assumed_profile": "pdf", "ppi_x": 300.0})
    assert assumed_words({"assumed_profile": None}) is None and assumed_words({}) is None
    over_white = "What is transparent in it is shown over white."
    assert assumed_words({"assumed_profile": None, "mode": "RGBA"}) == over_white
    assert str(assumed_words({"assumed_profile": "grey", "mode": "GREYA"})).endswith(f". {over_white}")
    assert over_white not in str(assumed_words({"assumed_profile": "grey", "mode": "GREY"}))
    for code in pictures._ASSUMED:
        assert assumed_words({"assumed_profile": code, "ppi_x": 72.0}).endswith(".")


def test_a_code_of_a_newer_program_is_named_and_no_error():
    assert "“woven”" in said({}, "woven", {})


def test_values_of_another_version_are_no_error():
    assert "no words for “truncated”" in refusal_sentence("truncated", {})
    assert "no words for “no-pencil”" in refusal_sentence("no-pencil", {"pencil": "green"})
