"""Spines, cases, jackets, spreads and page structures against figures printers and designers publish."""

from __future__ import annotations

import pytest

from reviews.press import covers, paper
from reviews.press.covers import CASE_RULES, JACKET_RULES, Trim
from reviews.press.flats import PanelKind
from reviews.press.page_plan import BindingKind, EndsKind, page_plan

INCH = 25.4


def test_200_pages_at_400_to_the_inch():
    """selfpublishing.com: 200 pages of a paper of 400 pages per inch make half an inch."""
    assert paper.block_mm(200, paper.by_pages_per_inch(400)) / INCH == pytest.approx(0.500, abs=0.0005)


def test_408_pages_at_400_to_the_inch():
    """thebookdesigner.com: 408 pages at 400 pages per inch make 1.02 inches."""
    assert paper.block_mm(408, paper.by_pages_per_inch(400)) / INCH == pytest.approx(1.02, abs=0.0005)


@pytest.mark.parametrize(("caliper_inch", "per_inch"), [(0.0039, 515), (0.0046, 435), (0.0051, 395)])
def test_caliper_and_pages_per_inch_tell_one_paper(caliper_inch, per_inch):
    """Patterson Printing's table of 50, 60 and 70 pound papers; it rounds to five pages."""
    assert paper.pages_per_inch(paper.by_caliper(caliper_inch * INCH)) == pytest.approx(per_inch, abs=4)


def test_128_pages_by_caliper():
    """Patterson Printing: 128 pages of 0.0039 inch make 0.2496 inch."""
    assert paper.block_mm(128, paper.by_caliper(0.0039 * INCH)) / INCH == pytest.approx(0.2496, abs=0.0005)


def test_90_grams_at_bulk_one_and_a_half():
    """booksfactory: 90 g/m² at 1.5 cm³/g is 0.0675 mm a page."""
    assert paper.by_weight(90, 1.5).page_mm == pytest.approx(0.0675)


def test_a_case_of_32_coated_pages():
    """booksfactory: 32 pages of 0.060 mm are 1.92 mm, taken as 2; with two 3 mm boards the spine is 8 mm."""
    assert paper.block_mm(32, paper.Paper(0.060)) == 1.92
    plain = covers.CaseRules(
        source="booksfactory",
        board_taller_mm=6,
        board_narrower_mm=3,
        hinge_mm=8,
        turn_in_mm=15,
        board_mm=3,
        spine_more_mm=0,
        bleed_mm=0,
        safety_mm=5,
    )
    assert covers.case_spine_mm(2.0, plain) == 8.0


def test_the_worked_case_of_250_mm():
    """dingword's rule: page 250 x 250, block 4, board 3: spine 9.5, board 246.5 x 256, wrap 556.5 x 290 mm."""
    wrap = covers.case_wrap(Trim(250, 250), 4.0, CASE_RULES["dingword"])
    assert wrap.panel(PanelKind.SPINE).width_mm == 9.5
    assert wrap.panel(PanelKind.FRONT).width_mm == 246.5
    assert wrap.height_mm - 2 * wrap.turn_in_mm == 256
    assert (wrap.width_mm, wrap.height_mm) == (556.5, 290.0)


def test_the_case_guide_in_inches():
    """PrintNinja's case guide: board + 0.27 high, - 0.16 wide, hinge 0.4, turn-in 0.8 on each edge (8 x 10 page)."""
    wrap = covers.case_wrap(Trim(8 * INCH, 10 * INCH), 4.0, CASE_RULES["printninja"])
    assert wrap.panel(PanelKind.FRONT).width_mm / INCH == pytest.approx(7.84, abs=0.001)
    assert wrap.panel(PanelKind.HINGE).width_mm / INCH == pytest.approx(0.4, abs=0.001)
    assert wrap.height_mm / INCH == pytest.approx(10.27 + 1.6, abs=0.001)


def test_the_height_of_a_jacket_for_6_by_9():
    """PrintNinja's jacket guide: page + 0.27 high, page + 0.3 wide, spine + 0.04. (thebookdesigner says + 0.25.)"""
    flat = covers.jacket(Trim(6 * INCH, 9 * INCH), 1.0 * INCH, JACKET_RULES["printninja"])
    assert flat.height_mm / INCH == pytest.approx(9.27, abs=0.001)
    assert flat.panel(PanelKind.FRONT).width_mm / INCH == pytest.approx(6.3, abs=0.001)
    assert flat.panel(PanelKind.SPINE).width_mm / INCH == pytest.approx(1.04, abs=0.001)
    assert flat.width_mm / INCH == pytest.approx(2 * 6.3 + 1.04 + 2 * 3.0, abs=0.002)


def test_a_metric_jacket():
    """Wakefields: for A4 pages the front is 223 x 305 mm."""
    flat = covers.jacket(Trim(210, 297), 12.0, JACKET_RULES["wakefields"])
    assert (flat.panel(PanelKind.FRONT).width_mm, flat.height_mm) == (223.0, 305.0)


@pytest.mark.parametrize(
    ("trim", "bleed", "expected"),
    [((10 * INCH, 10 * INCH), 0.125 * INCH, (20.25 * INCH, 10.25 * INCH)), ((250, 250), 3.0, (506.0, 256.0))],
)
def test_a_spread_with_its_bleed(trim, bleed, expected):
    """Arithmetic: two 10 inch pages and an eighth all round; two pages of 250 mm and 3 mm all round."""
    assert covers.spread(Trim(*trim), bleed_mm=bleed).with_bleed_mm == pytest.approx(expected, abs=0.011)


def test_the_self_ended_book_of_32():
    """Wendy Watson: 1 and 32 pasted down, 2-3 and 30-31 endpaper art, the story on 5 to 28 at most."""
    plan = page_plan(32, BindingKind.CASE, EndsKind.SELF)
    assert plan.pasted == (1, 32)
    assert plan.ends == ((2, 3), (30, 31))
    assert plan.openings[0] == (4, 5) and plan.openings[-1] == (28, 29)


def test_the_separate_ended_book_of_32():
    """theindiepages: all 32 pages print, 1 and 32 alone, fourteen whole openings from 4-5 to 30-31 for the story."""
    plan = page_plan(32, BindingKind.CASE, EndsKind.SEPARATE)
    assert plan.singles == (1, 32)
    assert [pair for pair in plan.openings if pair[0] >= 4] == [(page, page + 1) for page in range(4, 31, 2)]
    assert len([pair for pair in plan.openings if pair[0] >= 4]) == 14


@pytest.mark.parametrize("n_pages", [10, 14, 18, 22])
def test_board_books_begin_on_the_left(n_pages):
    """Several printers of board books: page 1 is on the back of the cover, the last page on the right; no sections."""
    plan = page_plan(n_pages, BindingKind.BOARD, EndsKind.NONE)
    assert plan.openings[0] == (1, 2) and plan.openings[-1] == (n_pages - 1, n_pages)
    assert plan.first_is_left and not plan.singles and not plan.sections and not plan.cautions


@pytest.mark.parametrize("n_pages", [28, 36, 44])
def test_a_multiple_of_four_only_is_taken_with_a_caution(n_pages):
    """Editors and illustrators call 28, 36 and 44 possible and irregular."""
    assert page_plan(n_pages, BindingKind.CASE, EndsKind.SEPARATE).cautions
    assert not page_plan(n_pages + 4, BindingKind.CASE, EndsKind.SEPARATE).cautions
