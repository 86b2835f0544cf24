"""How a picture lies on its flat: with its bleed or without, the front alone or the whole, drawn for which spine."""

from __future__ import annotations

import pytest

from reviews.press import covers
from reviews.press.cover_check import cover_faults, spine_drawn_mm
from reviews.press.covers import CASE_RULES, Trim
from reviews.press.file_check import FileFacts, FileFault
from reviews.press.placing import place, placed_guides

SQUARE = Trim(250, 250)
SPREAD = covers.spread(SQUARE)
FRONT = covers.single_page(SQUARE)
CASE = covers.case_wrap(SQUARE, 4.0, CASE_RULES["dingword"])  # 556.5 × 290 mm, spine 9.5
SOFT = covers.paperback_cover(SQUARE, 4.0)


def pixels(width_mm: float, height_mm: float, ppi: float = 300) -> tuple[int, int]:
    return round(width_mm / 25.4 * ppi), round(height_mm / 25.4 * ppi)


def facts(width_px: int, height_px: int) -> FileFacts:
    return FileFacts(width_px, height_px, "CMYK", 8, has_profile=True)


@pytest.mark.parametrize(("size", "has_bleed"), [((500, 250), False), ((506, 256), True)])
def test_a_bleed_is_read_from_the_proportions(size, has_bleed):
    assert place(*pixels(*size), [SPREAD]).has_bleed == has_bleed


def test_where_both_fit_alike_the_edge_of_the_file_is_taken_for_the_trim():
    assert not place(*pixels(256, 256), [FRONT]).has_bleed


def test_guides_fall_where_the_millimetres_say():
    found = {guide.kind: guide for guide in placed_guides(place(5060, 2560, [SPREAD]))}
    trim = found["trim"]
    assert (trim.x0 * 5060, trim.y0 * 2560) == pytest.approx((30, 30), abs=0.1)
    assert (trim.x1 * 5060, trim.y1 * 2560) == pytest.approx((5030, 2530), abs=0.1)
    assert found["fold"].x0 == found["fold"].x1 == 0.5
    assert (found["gutter"].x0 * 506, found["gutter"].x1 * 506) == pytest.approx((240, 266), abs=0.01)
    assert (found["bleed"].x0, found["bleed"].y1) == (0, 1)


def test_a_bleed_that_a_picture_does_not_have_is_no_guide_on_it():
    assert "bleed" not in {guide.kind for guide in placed_guides(place(5000, 2500, [SPREAD]))}


def test_a_cover_picture_is_the_front_alone_or_the_whole():
    assert place(*pixels(256, 256), [FRONT, CASE]).flat is FRONT
    whole = place(*pixels(556.5, 290), [FRONT, CASE])
    assert whole.flat is CASE
    panels = {guide.panel for guide in placed_guides(whole) if guide.panel}
    assert {"back", "spine", "front"} <= panels or {"back", "front"} <= panels


@pytest.mark.parametrize(
    ("flat", "drawn_for"),
    # A paperback file more than some 3 mm too wide has the proportions of one without bleed, and is taken for that.
    [
        *((CASE, mm) for mm in (-3.0, -1.0, 0.0, 0.2, 1.0, 6.0)),
        *((SOFT, mm) for mm in (-3.0, -1.0, 0.0, 0.2, 1.0, 2.5)),
    ],
)
def test_a_picture_tells_for_which_spine_it_was_drawn(flat, drawn_for):
    wide, high = flat.with_bleed_mm
    spine = flat.panel("spine").width_mm
    size = pixels(wide + drawn_for, high)
    placed = place(*size, [FRONT, flat])
    assert spine_drawn_mm(facts(*size), placed) == pytest.approx(spine + drawn_for, abs=0.2)
    found = [fault.code for fault in cover_faults(facts(*size), placed, flat)]
    assert found == ([FileFault.SPINE_MOVED] if abs(drawn_for) > 0.5 else [])


def test_the_front_alone_is_told_with_the_size_of_the_whole():
    (fault,) = cover_faults(facts(3000, 3000), place(3000, 3000, [FRONT, CASE]), CASE)
    assert fault.code == FileFault.FRONT_ALONE
    assert (fault.values["width_mm"], fault.values["height_mm"]) == (556.5, 290.0)
