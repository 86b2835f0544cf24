"""Text broken into lines as type does it, and what is wrong with where it stands."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.press.covers import Trim, single_page, spread
from reviews.press.flats import PanelKind, flat_of
from reviews.press.text_blocks import MM_PER_PT, Face, Metrics, TextAlign, TextBlock, break_lines, set_block
from reviews.press.text_check import (
    GroundFound,
    TextFault,
    contrast,
    ground_faults,
    least_contrast,
    luminance,
    placing_faults,
)
from reviews.press.text_text import blocks_from_text, blocks_to_text

#: Each letter half an em wide: a line's length can be counted on one's fingers.
EVEN = Metrics(advance=lambda words: len(words) / 2, ascent=0.75, descent=0.25, lacks=lambda words: "")
PAGE = single_page(Trim(250.0, 250.0), bleed_mm=3.0, safety_mm=5.0)
SPREAD = spread(Trim(250.0, 250.0), bleed_mm=3.0, safety_mm=5.0, gutter_mm=13.0)
TEN_MM = 10 / MM_PER_PT  # a size of 10 mm, in pt


def a_block(**changes) -> TextBlock:
    fields = {
        "number": 1, "words": "Hush, said the tarn.", "language": "en", "face": Face.SERIF, "size_pt": TEN_MM,
        "leading_pt": TEN_MM, "align": TextAlign.LEFT, "colour": "#000000", "left_mm": 20.0, "top_mm": 20.0,
        "width_mm": 60.0, "height_mm": 60.0,
    }  # fmt: skip
    return TextBlock(**(fields | changes))


@pytest.mark.parametrize(
    ("words", "width", "lines"),
    [
        ("Hush, said the tarn.", 20, ["Hush, said the tarn."]),
        ("Hush, said the tarn.", 19, ["Hush, said the", "tarn."]),
        ("Hush, said the tarn.", 10, ["Hush, said", "the tarn."]),
        ("Hush,   said", 10, ["Hush, said"]),
        ("a\n\nb", 10, ["a", "", "b"]),
        ("", 10, [""]),
        ("well-known weir", 6, ["well-", "known", "weir"]),
        ("the tarn—and more", 9, ["the tarn—", "and more"]),
        ("10-12 o’clock", 6, ["10-12", "o’clock"]),  # a hyphen between figures is no place to break
        ("a\N{NO-BREAK SPACE}b c", 3, ["a\N{NO-BREAK SPACE}b", "c"]),
        ("hush\N{SOFT HYPHEN}ing now", 7, ["hushing", "now"]),
        ("Tarnwaterweir ran", 6, ["Tarnwaterweir", "ran"]),  # nothing is hyphenated: it stands alone, and is told
    ],
)
def test_lines_take_as_much_as_fits_and_break_where_type_may(words, width, lines):
    assert break_lines(words, width, len) == lines


@given(st.text(alphabet="abc -–—\n", max_size=80), st.integers(1, 20))
def test_no_word_is_lost_and_no_line_is_wider_than_it_must_be(words, width):
    lines = break_lines(words, width, len)
    assert "".join("".join(lines).split()) == "".join(words.split())
    for line in lines:
        assert len(line) <= width or " " not in line.strip(), "a line too wide is one piece that cannot be broken"
        assert line == line.rstrip(" ")


def test_a_block_is_set_from_its_top_and_by_its_leading():
    found = set_block(a_block(words="ab cd", width_mm=10.0, leading_pt=TEN_MM * 1.5), EVEN)
    assert [line.words for line in found.lines] == ["ab", "cd"]
    assert [line.baseline_mm for line in found.lines] == pytest.approx([27.5, 42.5])
    assert found.printed[0] == pytest.approx((20.0, 20.0, 30.0, 30.0))


@pytest.mark.parametrize(("align", "left"), [(TextAlign.LEFT, 20.0), (TextAlign.CENTRE, 45.0), (TextAlign.RIGHT, 70.0)])
def test_lines_stand_left_centred_or_right(align, left):
    found = set_block(a_block(words="ab", align=align), EVEN)
    assert found.lines[0].left_mm == pytest.approx(left)


def faults(block: TextBlock, flat=PAGE, metrics=EVEN) -> dict[TextFault, dict]:
    return {fault.code: fault.values for fault in placing_faults(flat, [set_block(block, metrics)])}


def test_a_clean_block_is_not_spoken_of():
    assert faults(a_block()) == {}
    assert faults(a_block(), SPREAD) == {}


@pytest.mark.parametrize(
    ("place", "by"),
    [({"left_mm": 3.0}, 2.0), ({"top_mm": 0.0}, 5.0), ({"left_mm": 186.0, "align": TextAlign.RIGHT}, 1.0),
     ({"top_mm": 237.0, "words": "ab", "height_mm": 12.0}, 2.0)],
)  # fmt: skip
def test_letters_outside_the_safe_area_are_told_with_how_far(place, by):
    assert faults(a_block(**place))[TextFault.OUTSIDE_SAFETY] == {"safety_mm": 5.0, "by_mm": by}


def test_an_empty_corner_of_a_box_is_no_fault():
    assert faults(a_block(left_mm=200.0, width_mm=50.0, words="ab")) == {}


def test_letters_in_the_gutter_band_are_told_and_a_box_that_only_reaches_in_is_not():
    assert faults(a_block(left_mm=220.0, words="abcd"), SPREAD) == {
        TextFault.IN_GUTTER: {"gutter_mm": 13.0, "by_mm": 3.0}
    }
    assert faults(a_block(left_mm=200.0, words="abcd"), SPREAD) == {}
    # Across the fold, from one page to the other, is in it too.
    assert faults(a_block(left_mm=225.0, words="abcdefghij"), SPREAD)[TextFault.IN_GUTTER]["by_mm"] == 26.0
    assert faults(a_block(left_mm=220.0, words="abcd"), PAGE) == {}


def test_of_a_cover_each_panel_has_its_own_safe_area_and_a_fold_is_no_place_for_letters():
    widths = ((PanelKind.BACK, 200.0), (PanelKind.SPINE, 12.0), (PanelKind.FRONT, 200.0))
    cover = flat_of(widths, 250.0, bleed_mm=3.0, safety_mm=5.0)
    assert faults(a_block(left_mm=230.0, words="abcd"), cover) == {}
    assert faults(a_block(left_mm=20.0, words="abcd"), cover) == {}
    assert faults(a_block(left_mm=214.0, words="abcd"), cover)[TextFault.OUTSIDE_SAFETY]["by_mm"] == 3.0
    assert set(faults(a_block(left_mm=190.0, words="abcdefghij"), cover)) == {TextFault.ON_FOLD}
    assert TextFault.ON_FOLD not in faults(a_block(left_mm=190.0, words="abcdefghij"), SPREAD), "a gutter is its band"


def test_words_that_do_not_fit_their_box_are_told():
    assert faults(a_block(words="ab cd", width_mm=10.0, height_mm=12.0)) == {
        TextFault.DOES_NOT_FIT: {"below_mm": 8.0, "beyond_mm": 0.0}
    }
    assert faults(a_block(words="abcdef", width_mm=10.0)) == {
        TextFault.DOES_NOT_FIT: {"below_mm": 0.0, "beyond_mm": 20.0}
    }


def test_letters_that_the_face_lacks_are_named():
    lacking = replace(EVEN, lacks=lambda words: "漢")
    assert faults(a_block(), metrics=lacking) == {TextFault.LETTERS_MISSING: {"letters": "漢"}}


def test_contrast_is_that_of_wcag():
    """WCAG 2.2, definition of contrast ratio: black on white is 21; #767676 is the darkest-known 4.54 on white."""
    assert contrast(luminance("#000000"), luminance("#ffffff")) == pytest.approx(21)
    assert contrast(luminance("#767676"), luminance("#ffffff")) == pytest.approx(4.54, abs=0.005)
    assert contrast(luminance("#ffffff"), luminance("#777777")) == pytest.approx(4.48, abs=0.005)
    assert luminance("#ff0000") == pytest.approx(0.2126, abs=1e-4)


@pytest.mark.parametrize(
    ("changes", "own", "least"),
    [
        ({"size_pt": 12.0}, None, 4.5),
        ({"size_pt": 18.0}, None, 3.0),
        ({"size_pt": 14.0, "face": Face.SANS_BOLD}, None, 3.0),
        ({"size_pt": 14.0}, None, 4.5),
        ({"size_pt": 40.0}, 7.0, 7.0),
    ],
)
def test_large_type_is_asked_for_less_and_a_house_s_own_figure_wins(changes, own, least):
    assert least_contrast(a_block(**changes), own) == least


def ground(**changes) -> GroundFound:
    fields = {"block": 1, "least": 3.0, "worst": 9.0, "worst_at": (0.1, 0.1, 0.2, 0.2), "busy": 0.0, "n_squares": 40}
    return GroundFound(**(fields | changes))


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({}, None),
        ({"worst": 3.0}, None),
        ({"worst": 2.99}, TextFault.LOW_CONTRAST),
        ({"busy": 0.1}, TextFault.ON_BUSY_ART),
        ({"busy": 0.09}, None),
        ({"worst": 1.0, "n_squares": 0}, None),
    ],
)
def test_art_under_text_is_told_of_where_its_worst_square_or_its_unrest_asks_for_it(changes, code):
    assert [fault.code for fault in ground_faults([ground(**changes)])] == ([code] if code else [])


def test_a_contrast_just_under_the_least_is_never_told_as_the_least():
    [fault] = ground_faults([ground(worst=2.99)])
    assert fault.values == {"worst": 2.9, "least": 3.0}


def test_blocks_are_written_and_read_alike():
    block = a_block(size_pt=18.0, leading_pt=24.5)
    assert blocks_from_text(blocks_to_text([block])) == (block,)
    assert blocks_from_text([{**blocks_to_text([block])[0], "face": "gone"}])[0].face == Face.SERIF


def test_a_long_line_is_measured_word_by_word_and_not_anew_for_each():
    measured = []

    def advance(words: str) -> int:
        measured.append(len(words))
        return len(words)

    assert break_lines("a " * 2000, 10_000, advance) == [("a " * 2000).strip()]
    assert sum(measured) < 4 * 4000
