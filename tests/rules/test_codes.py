"""Codes of ledger lines: short, typed from paper, found in whatever was pasted; and the names lines have."""

import pytest

from reviews.rules.codes import MOST_CODES, Stand, code_of, stands_in
from reviews.rules.line_names import name_lines, shared_before
from reviews.rules.states import Sight

CODE = "AAAQ-EAYE-AUDA-OCAJ"


def test_a_code_is_eighty_bits_of_the_fingerprint_in_groups_of_four():
    assert code_of("00010203040506070809" + "ff" * 22) == CODE
    assert code_of("00010203040506070809" + "00" * 22) == CODE
    assert code_of("00010203040506070808" + "ff" * 22) != CODE


@pytest.mark.parametrize(
    "text",
    [
        f"This letter is recorded at line 216, code {CODE} of the ledger.",
        f"216 {CODE}",
        f"line 216, code {CODE.lower()}",
        "line 216, code AAAQ EAYE AUDA OCAJ",
        f"> line 216, code\n> {CODE}",
        f"216: {CODE}; on 28 November 2026",
    ],
)
def test_a_line_and_its_code_are_found_however_they_are_pasted(text):
    assert list(stands_in(text)) == [Stand("216", CODE)]


def test_a_line_of_one_side_keeps_its_name():
    assert list(stands_in(f"87.2 {CODE}")) == [Stand("87.2", CODE)]


@pytest.mark.parametrize(
    "text", ["", "216", CODE, f"line 216, code {CODE[:-1]}", f"line 216, code {CODE[:-1]}1", "9" * 5000]
)
def test_what_is_no_line_with_a_code_is_not_taken_for_one(text):
    assert list(stands_in(text)) == []


def test_a_text_of_many_codes_ends_somewhere():
    assert len(list(stands_in(f"1 {CODE}\n" * 5000))) == MOST_CODES


LINES = [(1, Sight.ALL), (2, Sight.PUBLISHER), (3, Sight.PUBLISHER), (4, Sight.ILLUSTRATOR), (5, Sight.ALL),
         (6, Sight.ILLUSTRATOR)]  # fmt: skip


def test_shared_lines_have_one_number_for_everybody_and_no_number_counts_the_other_side():
    assert name_lines(LINES, {Sight.ALL, Sight.PUBLISHER}) == {1: "1", 2: "1.1", 3: "1.2", 5: "2"}
    assert name_lines(LINES, {Sight.ALL, Sight.ILLUSTRATOR}) == {1: "1", 4: "1.1", 5: "2", 6: "2.1"}
    assert name_lines(LINES, {Sight.ALL}) == {1: "1", 5: "2"}


def test_the_last_shared_line_before_a_place_is_told_whatever_stands_there():
    names = name_lines(LINES, {Sight.ALL})
    assert [shared_before(names, place) for place in (0, 1, 4, 5, 99)] == [0, 1, 1, 2, 2]
