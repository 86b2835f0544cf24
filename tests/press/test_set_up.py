"""A book's printing: starting values by unit and rule set, a printer's own in their place, and what follows."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reviews.press.covers import Trim
from reviews.press.finish import FINISH_LIMITS, Finish
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.press.refused import CannotPrint
from reviews.press.set_up import BookPrint, PaperBy, PaperTold, PieceName, PrinterFigures, PrintFigure, Unit
from reviews.press.set_up_text import figures_from_text, figures_to_text, paper_from_text, paper_to_text

SQUARE = BookPrint(trim=Trim(250, 250), n_pages=32, binding=BindingKind.CASE, ends=EndsKind.SELF)
INCHES = PrinterFigures(unit=Unit.INCH, case_rules="printninja", jacket_rules="printninja")


def own(book: BookPrint, **figures: float) -> BookPrint:
    named = {PrintFigure(name.replace("_", "-")): mm for name, mm in figures.items()}
    return replace(book, figures=replace(book.figures, own=named))


def test_nothing_is_known_of_a_cover_before_the_paper_is_told():
    assert set(SQUARE.flats()) == {PieceName.SPREAD, PieceName.PAGE}
    assert SQUARE.spine_mm is None and SQUARE.block_mm is None


def test_dingwords_worked_case_comes_out_of_the_set_up():
    """dingword's case rule: page 250 × 250, block 4, board 3 → spine 9.5, wrap 556.5 × 290 mm."""
    told = replace(SQUARE, paper=PaperTold(PaperBy.CALIPER, 0.25))  # 16 leaves of 0.25 are a block of 4
    assert (told.block_mm, told.spine_mm) == (4.0, 9.5)
    cover = told.flats()[PieceName.COVER]
    assert (cover.width_mm, cover.height_mm) == (556.5, 290.0)


def test_the_three_ways_of_telling_a_paper_agree():
    """booksfactory's list: coated matt 150 g is 0.060 mm a page, so 32 pages are 1.92 mm."""
    ways = (
        PaperTold(PaperBy.CALIPER, 0.12),
        PaperTold(PaperBy.PAGES_PER_INCH, 25.4 / 0.06),
        PaperTold(PaperBy.WEIGHT, 150, 0.8),
    )
    assert [replace(SQUARE, paper=way).block_mm for way in ways] == [1.92, 1.92, 1.92]


def test_thebookdesigners_jacket_comes_out_of_the_set_up():
    """thebookdesigner: 6 × 9 in, 408 pages at 400 to the inch, 3 in flaps → flat 9.25 × 20.095 in.

    Its spine of 1.495 in is the block of 1.02 and what boards add to it; its panel is the page and 0.3 in.
    """
    book = BookPrint(
        trim=Trim(6 * 25.4, 9 * 25.4),
        n_pages=408,
        binding=BindingKind.CASE,
        ends=EndsKind.SEPARATE,
        figures=INCHES,
        paper=PaperTold(PaperBy.PAGES_PER_INCH, 400),
        has_jacket=True,
    )
    assert book.block_mm == pytest.approx(1.02 * 25.4, abs=0.01)
    told = own(
        book,
        jacket_taller=0.25 * 25.4,
        board=(1.495 - 1.02) / 2 * 25.4,
        jacket_spine_more=0.0,
        flap=3 * 25.4,
    )
    flat = told.flats()[PieceName.JACKET]
    assert flat.height_mm == pytest.approx(9.25 * 25.4, abs=0.01)
    assert flat.width_mm == pytest.approx(20.095 * 25.4, abs=0.02)


@pytest.mark.parametrize(
    ("figures", "bleed", "source"),
    [(PrinterFigures(), 3.0, "bleed-metric"), (PrinterFigures(unit=Unit.INCH), 3.175, "bleed-inch")],
)
def test_a_bleed_starts_as_its_unit_has_it(figures, bleed, source):
    """Published guides: 3 mm where mm are counted, an eighth of an inch (3.175 mm) where inches are."""
    start = replace(SQUARE, figures=figures).value(PrintFigure.BLEED)
    assert (start.mm, start.source) == (bleed, source)


def test_a_printers_own_figure_takes_the_place_of_the_starting_value_and_says_so():
    told = own(replace(SQUARE, paper=PaperTold(PaperBy.CALIPER, 0.25)), hinge=8.0)
    assert told.value(PrintFigure.HINGE).source == "own" and told.starting(PrintFigure.HINGE).mm == 10.0
    assert told.flats()[PieceName.COVER].width_mm == 552.5


@pytest.mark.parametrize(
    ("binding", "ends", "spine", "has_turn_in"),
    [
        (BindingKind.PAPERBACK, EndsKind.NONE, 4.0, False),
        (BindingKind.STITCHED, EndsKind.NONE, 0.0, False),
        (BindingKind.BOARD, EndsKind.NONE, 4.0, False),
        (BindingKind.CASE, EndsKind.SELF, 9.5, True),
    ],
)
def test_a_cover_is_laid_by_its_binding(binding, ends, spine, has_turn_in):
    told = replace(SQUARE, binding=binding, ends=ends, paper=PaperTold(PaperBy.CALIPER, 0.25))
    cover = told.flats()[PieceName.COVER]
    assert told.spine_mm == spine and bool(cover.turn_in_mm) == has_turn_in
    assert ("spine" in [panel.kind for panel in cover.panels]) == bool(spine)
    assert PrintFigure.BOARD in told.asked if has_turn_in else PrintFigure.BOARD not in told.asked


def test_only_a_case_has_a_jacket():
    told = replace(SQUARE, has_jacket=True, paper=PaperTold(PaperBy.CALIPER, 0.25))
    assert PieceName.JACKET in told.flats()
    soft = replace(told, binding=BindingKind.PAPERBACK, ends=EndsKind.NONE)
    assert PieceName.JACKET not in soft.flats() and PrintFigure.FLAP not in soft.asked


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"gutter": 250.0}, "gutter-too-wide"),
        ({"flap": 10.0}, "flap-too-narrow"),
        ({"flap": 300.0}, "flap-too-wide"),
        ({"bleed": -1.0}, "below-nought"),
        ({"board_narrower": 260.0}, "not-above-nought"),
        ({"hinge": 0.0}, "not-above-nought"),
    ],
)
def test_figures_that_make_no_piece_are_refused(change, code):
    told = replace(SQUARE, has_jacket=True, paper=PaperTold(PaperBy.CALIPER, 0.25))
    with pytest.raises(CannotPrint, match=code):
        own(told, **change).check()


@pytest.mark.parametrize("told", [None, PaperTold(PaperBy.WEIGHT, 150, 0.8, "Matt"), PaperTold(PaperBy.CALIPER, 0.12)])
def test_a_paper_is_read_as_it_was_written(told):
    assert paper_from_text(paper_to_text(told)) == told


def test_figures_are_read_as_they_were_written_and_what_is_unknown_is_the_starting_value():
    figures = replace(INCHES, own={PrintFigure.HINGE: 8.0}, ink_limit=280.0)
    assert figures_from_text(figures_to_text(figures)) == figures
    assert figures_from_text({"case_rules": "gone", "own": {"gone": 3}}) == PrinterFigures()
    assert figures_from_text({}) == PrinterFigures()


def test_a_glued_book_loses_in_its_fold_and_a_sewn_one_little():
    glued = replace(SQUARE, binding=BindingKind.PAPERBACK, ends=EndsKind.NONE).value(PrintFigure.GUTTER_LOSS)
    assert (glued.mm, glued.source) == (pytest.approx(1.5875), "loss-glued")
    for binding, ends in ((BindingKind.CASE, EndsKind.SELF), (BindingKind.STITCHED, EndsKind.NONE)):
        sewn = replace(SQUARE, binding=binding, ends=ends).value(PrintFigure.GUTTER_LOSS)
        assert (sewn.mm, sewn.source) == (0.0, "loss-sewn")
    with pytest.raises(CannotPrint, match="gutter-too-wide"):
        own(SQUARE, gutter_loss=250.0).check()


def test_a_finish_is_held_against_the_printers_own_line_and_gap():
    assert SQUARE.finish_limits(Finish.FOIL) == FINISH_LIMITS[Finish.FOIL]
    told = own(SQUARE, foil_line=0.35)
    limits = told.finish_limits(Finish.FOIL)
    assert (limits.least_line_mm, limits.least_gap_mm, limits.source) == (0.35, 0.5, "foilers")
    assert limits.is_line_own and not limits.is_gap_own
    assert told.finish_limits(Finish.EMBOSS) == FINISH_LIMITS[Finish.EMBOSS]
    for finish, line in ((Finish.SPOT_VARNISH, PrintFigure.VARNISH_LINE), (Finish.EMBOSS, PrintFigure.EMBOSS_LINE)):
        start = SQUARE.starting(line)
        assert (start.mm, start.source) == (FINISH_LIMITS[finish].least_line_mm, FINISH_LIMITS[finish].source)
