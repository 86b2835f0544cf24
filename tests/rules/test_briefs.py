"""A brief's lines, what a change to it amounts to, and which version stood when."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from reviews.rules.briefs import BriefPart, WrittenBrief, changes_of, in_force, line_at, lines_of, missed_line
from reviews.rules.states import Cause

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def test_lines_are_numbered_through_the_whole_brief_and_empty_ones_are_none():
    lines = lines_of({"text": "Hush, said the tarn.\n\n  And it hushed.", "art": "A wide tarn.", "never": "No moon."})
    assert [(line.number, line.part, line.words) for line in lines] == [
        (1, BriefPart.ART, "A wide tarn."),
        (2, BriefPart.TEXT, "Hush, said the tarn."),
        (3, BriefPart.TEXT, "And it hushed."),
        (4, BriefPart.NEVER, "No moon."),
    ]
    assert line_at({"art": "One"}, 1).words == "One"
    assert line_at({"art": "One"}, 2) is None


def test_a_link_asks_for_nothing_and_so_cannot_be_missed():
    lines = lines_of({"art": "A tarn.", "links": "https://example.org/tarn"})
    assert [line.may_be_missed for line in lines] == [True, False]


@pytest.mark.parametrize(
    ("before", "after", "changes"),
    [
        ({}, {"art": "A"}, {Cause.DIRECTION}),
        ({"text": "A"}, {"text": "B"}, {Cause.TEXT}),
        ({"text": "A", "art": "A"}, {"text": "B", "art": "B"}, {Cause.TEXT, Cause.DIRECTION}),
        ({"art": "A"}, {"art": "A", "never": "B"}, {Cause.DIRECTION}),
        ({"art": "A\n"}, {"art": " A "}, set()),
        ({"text": "A"}, {}, {Cause.TEXT}),
    ],
)
def test_a_change_is_of_the_text_or_a_direction_or_both(before, after, changes):
    assert changes_of(before, after) == changes


def test_what_stood_is_the_newest_of_each_written_by_then():
    hours = [
        WrittenBrief(1, False, NOON), WrittenBrief(2, True, NOON), WrittenBrief(3, False, NOON + timedelta(hours=2)),
    ]  # fmt: skip
    assert in_force(hours, NOON - timedelta(seconds=1)) == ()
    assert in_force(hours, NOON) == (1, 2)
    assert in_force(hours, NOON + timedelta(hours=3)) == (3, 2)


@pytest.mark.parametrize("words", ["", "12", "12:", ":3", "a:b", "-1:2", "1:2:3", "9" * 30 + ":1", "²:1"])
def test_nonsense_names_no_line(words):
    assert missed_line(words) is None


def test_a_line_is_named_by_its_brief_and_number():
    assert missed_line("12:3") == (12, 3)
