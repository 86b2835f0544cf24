"""Blocks of text against the brief and against each other, and when a change of them is a change of text."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from reviews.rules.states import Cause
from reviews.rules.text_blocks import (
    MOVED_MM,
    BlockChange,
    TextVersion,
    against_brief,
    brief_lines,
    changes_between,
    drawn_to,
    is_text_change,
    moved_mm,
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


def moved(right: float = 0.0, wider: float = 0.0) -> dict:
    return block(1, box=[20.0 + right, 20.0, 90.0 + wider, 40.0])


@pytest.mark.parametrize(
    ("after", "is_change"),
    [
        ([moved(1.0)], False),
        ([moved(MOVED_MM)], False),
        ([moved(-MOVED_MM)], False),
        ([moved(MOVED_MM + 0.01)], True),
        ([moved(0.0, wider=MOVED_MM + 0.01)], True),
        ([moved(MOVED_MM, wider=1.0)], True),  # its right edge moved by both
        ([block(1, size_pt=18.5)], True),
        ([block(1, face="sans")], True),
        ([block(1, language="cy")], True),
        ([block(1, words="Hush!")], True),
        ([block(1), block(2)], True),
        ([], True),
    ],
)
def test_a_nudge_is_no_change_of_text_and_all_else_is(after, is_change):
    assert is_text_change([block(1)], after) is is_change
    assert is_text_change(after, [block(1)]) is is_change
    versions = [TextVersion(at(1), False, [block(1)]), TextVersion(at(9), True, after)]
    assert stands_changed(versions, at(5)) is is_change


def test_how_far_a_block_moved_is_told_by_its_edges():
    assert moved_mm([block(1)], [moved(1.5)]) == 1.5
    assert moved_mm([block(1), block(2)], [moved(wider=3.0), block(3)]) == 3.0
    assert moved_mm([], [block(1)]) == 0.0


@pytest.mark.parametrize(
    ("versions", "approved", "content"),
    [
        ([], None, []),
        ([(1, False, "a"), (2, False, "b"), (6, False, "c")], 5, ["b"]),
        ([(1, False, "a"), (6, True, "b"), (7, False, "c")], 5, ["b"]),  # nudged since the change that was told
        ([(6, False, "a"), (7, False, "b")], 5, ["a"]),  # first placed after it, with the brief's own words
        ([(1, False, "a")], None, ["a"]),
    ],
)
def test_nudges_are_measured_from_what_the_approved_art_goes_by(versions, approved, content):
    told = [TextVersion(at(day), is_change, [words]) for day, is_change, words in versions]
    assert drawn_to(told, approved and at(approved)) == content


def test_a_change_of_text_is_a_cause_beside_those_of_the_notes():
    assert with_text_change((Cause.BRIEF,), is_changed=True) == (Cause.BRIEF, Cause.TEXT)
    assert with_text_change((Cause.TEXT,), is_changed=True) == (Cause.TEXT,)
    assert with_text_change((), is_changed=False) == ()
