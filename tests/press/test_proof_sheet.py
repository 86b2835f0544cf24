"""A printer's sheet on its trim: by box before marks, by the proportions of the piece, and never by a guess."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reviews.press import covers
from reviews.press.covers import Trim
from reviews.press.placing import LaidBy, PlacedPicture, placed_guides
from reviews.press.proof_sheet import NotLaid, SheetFound, TrimFound, lay_sheet, turned_clockwise

SPREAD = covers.spread(Trim(250, 250))
PAGE = covers.single_page(Trim(250, 250))
SIZE = 5600, 3100  # a sheet of 560 x 310 mm


def on_sheet(left: float, top: float, wide: float, high: float, **more) -> TrimFound:
    return TrimFound(left=left / 560, top=top / 310, right=(left + wide) / 560, bottom=(top + high) / 310, **more)


TRIM = on_sheet(20, 40, 500, 250)


def laid(*marks: TrimFound, box: TrimFound | None = None, flats=(SPREAD,)):
    return lay_sheet(SheetFound(box=box, marks=marks), flats, *SIZE)


def test_guides_fall_where_the_marks_stand():
    placed = laid(TRIM)
    assert isinstance(placed, PlacedPicture) and placed.laid_by == LaidBy.MARKS
    assert (placed.width_mm, placed.height_mm) == pytest.approx((560, 310))
    by_kind = {guide.kind: guide for guide in placed_guides(placed)}
    trim, bleed, fold = by_kind["trim"], by_kind["bleed"], by_kind["fold"]
    assert (trim.x0, trim.y0, trim.x1, trim.y1) == pytest.approx((20 / 560, 40 / 310, 520 / 560, 290 / 310), abs=1e-5)
    assert (bleed.x0, bleed.y1) == pytest.approx((17 / 560, 293 / 310), abs=1e-5)
    assert fold.x0 == fold.x1 == pytest.approx(270 / 560, abs=1e-5)
    assert placed.middle == pytest.approx((270 / 560, 165 / 310))


def test_a_box_is_believed_before_marks_but_not_where_its_shape_is_another():
    box = on_sheet(22, 41, 500, 250)
    assert laid(TRIM, box=box).laid_by == LaidBy.BOX
    assert laid(TRIM, box=on_sheet(20, 40, 500, 262)).laid_by == LaidBy.MARKS
    assert laid(box=on_sheet(20, 40, 500, 262)) == NotLaid.OTHER_SHAPE


def test_of_marks_for_trim_and_bleed_those_of_the_trim_are_taken():
    bleed, mixed = on_sheet(17, 37, 506, 256), on_sheet(17, 37, 503, 253)
    assert laid(bleed, mixed, TRIM) == laid(TRIM)
    square = on_sheet(20, 30, 250, 250), on_sheet(17, 27, 256, 256)
    placed = laid(*square[::-1], flats=(PAGE,))
    assert placed.share_x(0) * 560 == pytest.approx(20), "no proportion tells a square from its bleed: the inner one"


def test_a_cover_is_laid_on_what_it_shows():
    whole = covers.paperback_cover(Trim(250, 250), 8.0)
    both = (PAGE, whole)
    assert laid(on_sheet(20, 30, whole.width_mm, 250), flats=both).flat is whole
    assert laid(on_sheet(20, 30, 250, 250), flats=both).flat is PAGE


def test_nothing_is_laid_by_a_guess():
    assert laid() == NotLaid.NO_MARKS
    assert laid(on_sheet(20, 40, 500, 240)) == NotLaid.OTHER_SHAPE
    two = on_sheet(20, 30, 240, 240), on_sheet(290, 30, 240, 240)
    assert laid(*two, flats=(PAGE,)) == NotLaid.SEVERAL


def test_a_turn_goes_with_it_and_quarters_turn_the_box():
    assert laid(replace(TRIM, turn_deg=1.2, n_corners=3)).turn_deg == 1.2
    box = TrimFound(left=0.1, top=0.2, right=0.7, bottom=0.9)
    once = turned_clockwise(box, 90)
    assert (once.left, once.top, once.right, once.bottom) == pytest.approx((0.1, 0.1, 0.8, 0.7))
    assert turned_clockwise(box, 360) == box
