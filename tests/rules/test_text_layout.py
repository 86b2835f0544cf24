"""Placed text when an opening becomes two pages, and two pages an opening."""

from __future__ import annotations

import pytest

from reviews.rules.text_layout import join_text, split_text


def block(number: int, left: float, wide: float = 90.0) -> dict:
    return {"number": number, "words": f"Words {number}.", "box": [left, 20.0, wide, 40.0]}


@pytest.mark.parametrize(
    ("left", "wide", "page", "left_now", "wide_now", "is_shifted"),
    [
        (20.0, 90.0, 0, 20.0, 90.0, False),
        (160.0, 90.0, 0, 160.0, 90.0, False),  # up to the fold
        (250.0, 90.0, 1, 0.0, 90.0, False),  # from the fold on
        (300.0, 90.0, 1, 50.0, 90.0, False),
        (190.0, 90.0, 0, 160.0, 90.0, True),  # more of it on the left page
        (220.0, 90.0, 1, 0.0, 90.0, True),
        (100.0, 300.0, 1, 0.0, 250.0, True),  # as wide as no page
    ],
)
def test_a_block_lies_on_the_page_where_its_middle_lay(left, wide, page, left_now, wide_now, is_shifted):
    pages = split_text([block(1, left, wide)], 250.0)
    assert [len(one.blocks) for one in pages] == [1 - page, page]
    assert pages[page].blocks == [block(1, left_now, wide_now)]
    assert pages[page].shifted == ([1] if is_shifted else [])


def test_two_pages_become_one_with_numbers_of_its_own_and_are_divided_again_as_they_were():
    left, right = [block(1, 20.0), block(4, 30.0)], [block(1, 10.0)]
    joined = join_text(left, right, 250.0)
    assert [(one["number"], one["box"][0]) for one in joined.blocks] == [(1, 20.0), (4, 30.0), (5, 260.0)]
    again = split_text(joined.blocks, 250.0)
    assert again[0].blocks == left and again[1].blocks == [{**right[0], "number": 5}]
    assert not again[0].shifted and not again[1].shifted


def test_an_empty_page_joins_as_nothing():
    assert join_text([], [block(1, 10.0)], 250.0).blocks == [block(1, 260.0)]
    assert join_text([block(1, 10.0)], [], 250.0).blocks == [block(1, 10.0)]
