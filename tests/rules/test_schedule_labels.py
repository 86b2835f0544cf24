"""Words of a picture over time touch neither each other nor the lines for a day, at any width they are shown at."""

from dataclasses import replace
from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.rules.schedule_labels import LETTER_PX, LabelLine, Wanted


def span(label, width):
    x, wide = label.at * width + label.shift_px, len(label.words) * LETTER_PX
    left = {"start": x, "middle": x - wide / 2, "end": x - wide}[label.anchor]
    return left, left + wide


def test_words_stand_where_they_are_wanted():
    [label] = LabelLine(600, []).place([Wanted(key="a", words="Sketch", at=0.5, anchor="middle")])
    assert (label.at, label.shift_px, label.anchor) == (0.5, 0, "middle")


def test_the_first_come_are_placed_and_others_left_out():
    placed = LabelLine(600, []).place(
        [
            Wanted(key="a", words="Sketch", at=0.5, anchor="middle"),
            Wanted(key="b", words="Line", at=0.51, anchor="middle"),
        ]
    )
    assert [label.key for label in placed] == ["a"]


def test_words_that_would_cross_a_line_stand_beside_it_on_their_own_side():
    left, right = LabelLine(600, [0.5]).place(
        [
            Wanted(key="a", words="Sketch", at=0.495, anchor="middle"),
            Wanted(key="b", words="Proof", at=0.505, anchor="middle"),
        ]
    )
    assert (left.anchor, left.at, left.shift_px < 0) == ("end", 0.5, True)
    assert (right.anchor, right.at, right.shift_px > 0) == ("start", 0.5, True)


def test_loose_words_take_the_other_side_where_their_own_has_no_room():
    asked = Wanted(key="band", words="19 May to 9 June", at=0.97, anchor="middle")
    assert LabelLine(600, [0.95]).place([asked]) == []
    [label] = LabelLine(600, [0.95]).place([replace(asked, is_loose=True)])
    assert (label.anchor, label.at) == ("end", 0.95)


def test_words_keep_within_the_picture_and_before_the_next_stage():
    assert LabelLine(600, []).place([Wanted(key="a", words="Special finish", at=0.95, anchor="start")]) == []
    assert LabelLine(600, []).place([Wanted(key="a", words="Special finish", at=0.1, anchor="start", until=0.2)]) == []


wanted = st.builds(
    Wanted,
    key=st.uuids().map(str),
    words=st.sampled_from(["Ideas", "Sketch", "Full sketch", "Line", "Special finish", "3 May to 20 May"]),
    at=st.floats(0, 1),
    anchor=st.sampled_from(["start", "middle"]),
    is_loose=st.booleans(),
)


@given(st.lists(wanted, max_size=12), st.lists(st.floats(0, 1), max_size=2), st.floats(1, 3))
@settings(max_examples=200)
def test_what_is_placed_for_a_narrow_picture_stays_apart_in_every_wider_one(asked, lines_at, wider):
    placed = LabelLine(620, lines_at).place(asked)
    spans = [span(label, 620 * wider) for label in placed]
    for (a, b), (c, d) in combinations(spans, 2):
        assert b <= c or d <= a
    for left, right in spans:
        assert left >= -0.001
        assert right <= 620 * wider + 0.001
        assert not any(left < at * 620 * wider < right for at in lines_at)
