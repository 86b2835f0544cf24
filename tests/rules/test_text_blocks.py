"""Blocks of text against the brief and against each other, and when a change of them is a change of text."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from reviews.rules.states import Cause
from reviews.rules.text_blocks import (
    BlockChange,
    TextVersion,
    against_brief,
    brief_lines,
    changes_between,
    stands_changed,
    with_text_change,
)

TEXT = "Hush, said the tarn.\n\nThe otter hushed.\nNo moon yet."


def block(number: int, **changes) -> dict:
    return {"number": number, "words": "Hush.", "language": "en", "face": "serif", "size_pt": 18.0, "leading_pt": 24.0,
            "align": "left", "colour": "#1a1a1a", "box": [20.0, 20.0, 90.0, 40.0]} | changes  # fmt: skip


@pytest.mark.parametrize(
    ("after", "told"),
    [
        ([block(1)], {}),
        ([block(1, words="Hush!")], {BlockChange.WORDS: [1]}),
        ([block(1, box=[21.0, 20.0, 90.0, 40.0])], {BlockChange.PLACE: [1]}),
        ([block(1, size_pt=17.0)], {BlockChange.TYPE: [1]}),
        ([block(2)], {BlockChange.ADDED: [2], BlockChange.REMOVED: [1]}),
        ([], {BlockChange.REMOVED: [1]}),
        (
            [block(1, words="Hush!", colour="#ffffff"), block(3)],
            {BlockChange.ADDED: [3], BlockChange.WORDS: [1], BlockChange.TYPE: [1]},
        ),
    ],
)
def test_what_became_of_each_block_is_told_by_its_number(after, told):
    assert changes_between([block(1)], after) == told


def test_the_order_of_blocks_is_no_change():
    assert changes_between([block(1), block(2)], [block(2), block(1)]) == {}


def test_a_block_is_the_brief_s_where_its_lines_stand_in_it_one_after_the_other():
    held = against_brief(TEXT, {1: "Hush, said\nthe tarn.", 2: "The otter hushed. No moon yet.", 3: "No moon, yet."})
    assert held.lines_of == {1: (1, 1), 2: (2, 3), 3: None}
    assert held.unplaced == ()


def test_what_no_block_has_is_named_and_a_part_of_a_line_is_not_the_line():
    held = against_brief(TEXT, {1: "Hush", 2: "The otter hushed."})
    assert held.lines_of == {1: None, 2: (2, 2)}
    assert held.unplaced == (1, 3)


def test_no_brief_and_no_words_are_nothing():
    assert against_brief("", {1: "Hush"}).lines_of == {1: None}
    assert against_brief(TEXT, {1: ""}).lines_of == {1: None}


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [(1, 1, "Hush, said the tarn."), (2, 3, "The otter hushed.\nNo moon yet."), (3, 9, "No moon yet."), (4, 2, "")],
)
def test_lines_of_a_brief_are_counted_without_the_empty_ones(first, last, words):
    assert brief_lines(TEXT, first, last) == words


def at(day: int) -> datetime:
    return datetime(2026, 11, day, 9, tzinfo=UTC)


@pytest.mark.parametrize(
    ("versions", "is_changed"),
    [
        ([], False),
        ([TextVersion(at(1), False, ["a"])], False),
        ([TextVersion(at(1), True, ["a"])], False),  # before the hand-in, which answers it
        ([TextVersion(at(9), True, ["b"])], True),
        ([TextVersion(at(9), True, ["b"]), TextVersion(at(10), True, [])], False),  # and taken away again
        ([TextVersion(at(1), False, ["a"]), TextVersion(at(9), True, [])], True),
        ([TextVersion(at(1), False, ["a"]), TextVersion(at(9), True, ["b"])], True),
        ([TextVersion(at(1), False, ["a"]), TextVersion(at(9), False, ["b"])], False),  # no sketch stood approved
        ([TextVersion(at(1), False, ["a"]), TextVersion(at(9), True, ["b"]), TextVersion(at(10), True, ["a"])], False),
        ([TextVersion(at(5), False, ["a"]), TextVersion(at(6), True, ["b"])], True),  # its own moment is before
    ],
)
def test_text_is_changed_under_a_hand_in_where_it_came_after_and_does_not_read_as_it_did(versions, is_changed):
    assert stands_changed(versions, at(5)) is is_changed
    assert stands_changed(versions[::-1], at(5)) is is_changed


def test_a_change_of_text_is_a_cause_beside_those_of_the_notes():
    assert with_text_change((Cause.BRIEF,), is_changed=True) == (Cause.BRIEF, Cause.TEXT)
    assert with_text_change((Cause.TEXT,), is_changed=True) == (Cause.TEXT,)
    assert with_text_change((), is_changed=False) == ()
