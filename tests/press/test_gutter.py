"""The two halves of a picture beside the fold, as they meet once the book is bound."""

from __future__ import annotations

import pytest

from reviews.press.covers import Trim, single_page, spread
from reviews.press.gutter import meeting
from reviews.press.placing import place

SPREAD = spread(Trim(250.0, 250.0), bleed_mm=3.0, safety_mm=5.0, gutter_mm=13.0)


def test_halves_of_a_sewn_book_meet_at_the_fold():
    found = meeting(place(5060, 2560, [SPREAD]), 0.0)
    assert (found.left_mm, found.right_mm, found.width_mm, found.band_mm) == (225.0, 250.0, 25.0, 13.0)
    assert found.left_mm + found.width_mm == found.right_mm, "nothing is lost between them"


def test_what_a_glued_book_loses_is_gone_from_each_half():
    found = meeting(place(5060, 2560, [SPREAD]), 1.5875)
    assert found.right_mm - (found.left_mm + found.width_mm) == pytest.approx(2 * 1.5875, abs=1e-3)
    assert (found.left_mm, found.width_mm, found.band_mm) == pytest.approx((225.0, 23.4125, 11.4125), abs=1e-3)


@pytest.mark.parametrize(
    "flat",
    [single_page(Trim(250.0, 250.0), bleed_mm=3.0, safety_mm=5.0),
     spread(Trim(250.0, 250.0), bleed_mm=3.0, safety_mm=5.0, gutter_mm=0.0)],
)  # fmt: skip
def test_where_no_two_pages_meet_nothing_is_shown(flat):
    assert meeting(place(2560, 2560, [flat]), 0.0) is None


def test_a_loss_larger_than_what_is_shown_shows_nothing():
    assert meeting(place(5060, 2560, [SPREAD]), 40.0) is None
