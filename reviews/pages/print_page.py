"""The page of how a book is printed: its pieces to scale, its pages as they will lie, each figure with its source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reviews.models import Book
from reviews.pages.wording import press
from reviews.pages.wording.print_set_up import (
    CONDITION_WORDS,
    FIGURE_WORDS,
    PIECE_WORDS,
    length_words,
    paper_words,
    size_in,
)
from reviews.press.flats import Flat, Guide, guides
from reviews.press.page_plan import EndsKind, FoldedSection, PagePlan, page_plan
from reviews.press.pages import BACK_ENDS, FRONT_ENDS
from reviews.press.refused import CannotPrint
from reviews.press.set_up import BookPrint, PieceName, Unit
from reviews.press.set_up_text import paper_to_text

TEMPLATE_KINDS = ("pdf", "svg", "png")


@dataclass(frozen=True)
class FlatLine:
    """One guide as SVG: a box, or a line where it has no width."""

    kind: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, kw_only=True)
class FlatDrawing:
    """A flat drawn in mm; every drawing of a page has the same width of view, so all are of one scale."""

    view: str
    lines: tuple[FlatLine, ...]
    words: str


@dataclass(frozen=True)
class PanelShown:
    words: str
    width: str


@dataclass(frozen=True, kw_only=True)
class PieceShown:
    """One flat: its name, sizes, panels, drawing and templates."""

    name: str
    words: str
    size: str
    with_bleed: str
    panels: tuple[PanelShown, ...]
    drawing: FlatDrawing
    templates: dict[str, str]


@dataclass(frozen=True)
class PagesShown:
    """One leaf or opening of the plan: its name, its shape as ``.strip-of-pages`` knows it, what holds of it."""

    words: str
    shape: str
    is_double: bool
    remark: str


@dataclass(frozen=True, kw_only=True)
class PlanShown:
    """The pages as they will lie, or why they cannot."""

    refusal: str
    cautions: tuple[str, ...]
    sections: str
    pages: tuple[PagesShown, ...]
    has_flat: bool


@dataclass(frozen=True)
class FigureShown:
    words: str
    value: str
    source: str


@dataclass(frozen=True, kw_only=True)
class PrintPage:
    """What the page shows beside its form."""

    facts: tuple[FigureShown, ...]
    pieces: tuple[PieceShown, ...]
    pieces_refusal: str
    needs_paper: bool
    plan: PlanShown
    figures: tuple[FigureShown, ...]
    printer_wins: str


def page_of_print(book: Book, shown: BookPrint, unit: Unit) -> PrintPage:
    """Lay out the page (no query)."""
    flats, refusal = _flats(shown)
    across = max((flat.with_bleed_mm[0] for flat in flats.values()), default=0.0)
    return PrintPage(
        facts=tuple(_facts(shown, unit)),
        pieces=tuple(_piece(book, name, flat, unit, across) for name, flat in flats.items()),
        pieces_refusal=refusal,
        needs_paper=shown.paper is None and not refusal,
        plan=_plan(shown),
        figures=tuple(_figures(shown, unit)),
        printer_wins=str(press.PRINTER_WINS),
    )


def _flats(shown: BookPrint) -> tuple[dict[PieceName, Flat], str]:
    try:
        return shown.flats(), ""
    except CannotPrint as no:
        return {}, press.refusal(no)


def _facts(shown: BookPrint, unit: Unit) -> Iterator[FigureShown]:
    """Give what follows from paper and pages, each with how it came about."""
    yield FigureShown(_("Paper"), paper_words(paper_to_text(shown.paper)), "")
    try:
        block, spine = shown.block_mm, shown.spine_mm
    except CannotPrint as no:
        yield FigureShown(_("Spine"), _("not known"), press.refusal(no))
        return
    if block is None or spine is None:
        yield FigureShown(_("Spine"), _("not known"), _("It follows from the paper: tell its thickness below."))
        return
    page = shown.paper.as_paper().page_mm if shown.paper else 0.0
    block_from = _("{n} pages of {page:.4g} mm each").format(n=shown.n_pages, page=page)
    yield FigureShown(_("Block"), length_words(block, unit), block_from)
    yield FigureShown(_("Spine"), length_words(spine, unit) if spine else _("none"), _spine_from(shown))


def _spine_from(shown: BookPrint) -> str:
    if not shown.spine_mm:
        return _("folded and stitched through the fold: it has no spine")
    if shown.binding == "case":
        return _("block, two boards, and what the printer adds or takes off")
    return _("block and the cover’s own paper, front and back")


def _piece(book: Book, name: PieceName, flat: Flat, unit: Unit, across_mm: float) -> PieceShown:
    return PieceShown(
        name=name.value,
        words=str(PIECE_WORDS[name]),
        size=size_in(flat.width_mm, flat.height_mm, unit),
        with_bleed=size_in(*flat.with_bleed_mm, unit) if flat.bleed_mm else "",
        panels=tuple(PanelShown(str(press.PANELS[p.kind]), length_words(p.width_mm, unit)) for p in flat.panels),
        drawing=drawing_of(flat, str(PIECE_WORDS[name]), across_mm=across_mm),
        templates={
            kind.upper(): reverse("reviews:print-template", args=[book.pk, name.value, kind]) for kind in TEMPLATE_KINDS
        },
    )


def drawing_of(flat: Flat, words: str, *, across_mm: float) -> FlatDrawing:
    """Draw a flat in mm inside a view ``across_mm`` wide."""
    edge = 2.0  # of the view around the bleed, so that a line on it is not cut
    top = -flat.bleed_mm - edge
    height = flat.with_bleed_mm[1] + 2 * edge
    left = -flat.bleed_mm - edge
    return FlatDrawing(
        view=f"{left:g} {top:g} {across_mm + 2 * edge:g} {height:g}",
        lines=tuple(_line(guide) for guide in guides(flat)),
        words=words,
    )


def _line(guide: Guide) -> FlatLine:
    return FlatLine(
        guide.kind.value,
        guide.left_mm,
        guide.top_mm,
        round(guide.right_mm - guide.left_mm, 2),
        round(guide.bottom_mm - guide.top_mm, 2),
    )


def _plan(shown: BookPrint) -> PlanShown:
    try:
        plan = page_plan(shown.n_pages, shown.binding, shown.ends)
    except CannotPrint as no:
        return PlanShown(refusal=press.refusal(no), cautions=(), sections="", pages=(), has_flat=False)
    pages = tuple(_pages(plan))
    return PlanShown(
        refusal="",
        cautions=tuple(press.caution(code, plan.n_pages) for code in plan.cautions),
        sections=_sections(plan.sections),
        pages=pages,
        has_flat=bool(plan.flat_openings),
    )


def _sections(sections: tuple[FoldedSection, ...]) -> str:
    if not sections:
        return _("Glued from boards: no folded sections.")
    listed = ", ".join(f"{one.first}–{one.first + one.n_pages - 1} ({one.n_pages})" for one in sections)
    words = ngettext("%(n)d section: pages %(listed)s.", "%(n)d sections: pages %(listed)s.", len(sections))
    return words % {"n": len(sections), "listed": listed}


def _pages(plan: PagePlan) -> Iterator[PagesShown]:
    """List the pages in the order in which they are leafed through."""
    is_separate = plan.ends_kind == EndsKind.SEPARATE
    if is_separate:
        yield PagesShown(_(FRONT_ENDS), "ends", True, _("extra leaves, not counted"))
    alone = plan.pasted or plan.singles
    for page in alone[:1]:
        yield _alone(page, _("pasted down") if plan.pasted else _("right-hand page"))
    flat = set(plan.flat_openings)
    for pair in (*plan.ends[:1], *plan.openings, *plan.ends[1:]):
        shape = "ends" if pair in plan.ends else "opening"
        remark = _("one flat board") if plan.first_is_left else _("one flat sheet") if pair in flat else ""
        yield PagesShown(f"{pair[0]}–{pair[1]}", shape, True, remark)
    for page in alone[1:]:
        yield _alone(page, _("pasted down") if plan.pasted else _("left-hand page"))
    if is_separate:
        yield PagesShown(_(BACK_ENDS), "ends", True, _("extra leaves, not counted"))


def _alone(page: int, remark: str) -> PagesShown:
    return PagesShown(_("Page {n}").format(n=page), "single", False, remark)


def _figures(shown: BookPrint, unit: Unit) -> Iterator[FigureShown]:
    for which in shown.asked:
        held = shown.value(which)
        source = press.source(held.source)
        if held.source == "own" and shown.printer:
            source = _("{printer}’s own figure").format(printer=shown.printer)
        yield FigureShown(str(FIGURE_WORDS[which]), length_words(held.mm, unit), source)
    limits = shown.limits
    source = press.source(limits.ink.source)
    condition = CONDITION_WORDS[shown.figures.condition]
    yield FigureShown(_("Ink limit ({condition})").format(condition=condition), f"{limits.ink.limit:g} %", source)
