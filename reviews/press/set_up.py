"""How one book is printed: its trim, binding and paper, a printer's figures, and the pieces that follow from them.

Every figure has a starting value with where it stands published; a printer's own takes its place. All in mm. What the
printer's own template says wins over any of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from reviews.geometry import MM_PER_INCH
from reviews.press import covers, paper
from reviews.press.covers import CASE_RULES, JACKET_RULES, MOST_SPINE_MM, CaseRules, JacketRules, Trim
from reviews.press.finish import FINISH_LIMITS, Finish, FinishLimits
from reviews.press.flats import Flat, PanelKind
from reviews.press.limits import INK_CONDITIONS, FileLimits, InkCondition
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.press.paper import Paper
from reviews.press.refused import CannotPrint


class Unit(StrEnum):
    """In which unit figures are shown and typed; they are kept in mm."""

    MM = "mm"
    INCH = "in"


class PaperBy(StrEnum):
    """How the mill or the printer tells the thickness of a paper."""

    CALIPER = "caliper"
    PAGES_PER_INCH = "pages-per-inch"
    WEIGHT = "weight"


class PrintFigure(StrEnum):
    """A measure that a printer may have of their own."""

    BLEED = "bleed"
    SAFETY = "safety"
    GUTTER = "gutter"
    GUTTER_LOSS = "gutter-loss"
    COVER_BLEED = "cover-bleed"
    COVER_SAFETY = "cover-safety"
    COVER_PAPER = "cover-paper"
    BOARD = "board"
    BOARD_TALLER = "board-taller"
    BOARD_NARROWER = "board-narrower"
    HINGE = "hinge"
    TURN_IN = "turn-in"
    SPINE_MORE = "spine-more"
    JACKET_BLEED = "jacket-bleed"
    JACKET_SAFETY = "jacket-safety"
    JACKET_TALLER = "jacket-taller"
    JACKET_WIDER = "jacket-wider"
    JACKET_SPINE_MORE = "jacket-spine-more"
    FLAP = "flap"
    FOIL_LINE = "foil-line"
    FOIL_GAP = "foil-gap"
    VARNISH_LINE = "varnish-line"
    VARNISH_GAP = "varnish-gap"
    EMBOSS_LINE = "emboss-line"
    EMBOSS_GAP = "emboss-gap"


class PieceName(StrEnum):
    """The flats of a book."""

    SPREAD = "spread"
    PAGE = "page"
    COVER = "cover"
    JACKET = "jacket"


#: What may be below nought: a spine board may be narrower than block and boards, a board wider than a page.
MAY_BE_LESS = frozenset({PrintFigure.SPINE_MORE, PrintFigure.BOARD_NARROWER, PrintFigure.JACKET_SPINE_MORE})
MOST_MM = 600.0
_INSIDE = (PrintFigure.BLEED, PrintFigure.SAFETY, PrintFigure.GUTTER, PrintFigure.GUTTER_LOSS)
_SOFT_COVER = (PrintFigure.COVER_BLEED, PrintFigure.COVER_SAFETY, PrintFigure.COVER_PAPER)
_CASE = (
    PrintFigure.COVER_BLEED,
    PrintFigure.COVER_SAFETY,
    PrintFigure.BOARD,
    PrintFigure.BOARD_TALLER,
    PrintFigure.BOARD_NARROWER,
    PrintFigure.HINGE,
    PrintFigure.TURN_IN,
    PrintFigure.SPINE_MORE,
)
_JACKET = (
    PrintFigure.JACKET_BLEED,
    PrintFigure.JACKET_SAFETY,
    PrintFigure.JACKET_TALLER,
    PrintFigure.JACKET_WIDER,
    PrintFigure.JACKET_SPINE_MORE,
    PrintFigure.FLAP,
)


#: The thinnest line and the smallest gap of each finish.
_FINISHES = {
    Finish.FOIL: (PrintFigure.FOIL_LINE, PrintFigure.FOIL_GAP),
    Finish.SPOT_VARNISH: (PrintFigure.VARNISH_LINE, PrintFigure.VARNISH_GAP),
    Finish.EMBOSS: (PrintFigure.EMBOSS_LINE, PrintFigure.EMBOSS_GAP),
}
_FINISH = tuple(which for pair in _FINISHES.values() for which in pair)
#: What each page loses in its fold: halves pulled an eighth of an inch apart where pages are glued, little where sewn.
_LOSS_GLUED_MM = 0.125 * MM_PER_INCH / 2


@dataclass(frozen=True)
class StartingValue:
    """A figure in mm, and the code of where it comes from ("own" for the printer's)."""

    mm: float
    source: str


@dataclass(frozen=True)
class PaperTold:
    """A stock as the printer tells it: a leaf's caliper in mm, pages per inch, or g/m² and a bulk in cm³/g."""

    by: PaperBy
    value: float
    bulk: float = 1.0
    name: str = ""

    def as_paper(self) -> Paper:
        """Give its thickness; raises CannotPrint for a measure that is none."""
        if self.by == PaperBy.CALIPER:
            return paper.by_caliper(self.value, self.name)
        if self.by == PaperBy.PAGES_PER_INCH:
            return paper.by_pages_per_inch(self.value, self.name)
        return paper.by_weight(self.value, self.bulk, self.name)


@dataclass(frozen=True, kw_only=True)
class PrinterFigures:
    """What holds for a printer rather than for one book, and so is kept under a name: unit, rule sets, own figures."""

    unit: Unit = Unit.MM
    case_rules: str = "dingword"
    jacket_rules: str = "wakefields"
    condition: str = "coated-fogra39"
    ink_limit: float | None = None
    text_contrast: float | None = None
    own: Mapping[PrintFigure, float] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class BookPrint:
    """One book as it is printed. ``paper`` is None until somebody tells it: no spine is known before."""

    trim: Trim
    n_pages: int
    binding: BindingKind
    ends: EndsKind
    figures: PrinterFigures = field(default_factory=PrinterFigures)
    paper: PaperTold | None = None
    has_jacket: bool = False
    printer: str = ""

    @property
    def asked(self) -> tuple[PrintFigure, ...]:
        """List the figures that this book needs, inside first."""
        cover = _CASE if self.binding == BindingKind.CASE else _SOFT_COVER
        return _INSIDE + cover + (_JACKET if self.is_jacketed else ()) + _FINISH

    @property
    def is_jacketed(self) -> bool:
        return self.has_jacket and self.binding == BindingKind.CASE

    def starting(self, which: PrintFigure) -> StartingValue:
        """Give a figure's starting value by unit, binding and the rule sets chosen."""
        return _starting(self, which)

    def value(self, which: PrintFigure) -> StartingValue:
        """Give the figure that holds: the printer's own, else the starting value."""
        if which in self.figures.own:
            return StartingValue(self.figures.own[which], "own")
        return self.starting(which)

    def mm(self, which: PrintFigure) -> float:
        return self.value(which).mm

    def finish_limits(self, finish: Finish) -> FinishLimits:
        """Give what a finish is held against: the printer's own line and gap, else those published."""
        start = FINISH_LIMITS[finish]
        line, gap = _FINISHES[finish]
        own = self.figures.own
        if line not in own and gap not in own:
            return start
        return replace(
            start,
            least_line_mm=self.mm(line),
            least_gap_mm=self.mm(gap),
            is_line_own=line in own,
            is_gap_own=gap in own,
        )

    @property
    def block_mm(self) -> float | None:
        """Give the thickness of the pages together; None while the paper is unknown."""
        return None if self.paper is None else paper.block_mm(self.n_pages, self.paper.as_paper())

    @property
    def spine_mm(self) -> float | None:
        """Give the width of the cover's spine; None while the paper is unknown, 0 where the binding has none."""
        block = self.block_mm
        if self.binding == BindingKind.STITCHED:
            return 0.0
        if block is None:
            return None
        if self.binding == BindingKind.CASE:
            return covers.case_spine_mm(block, _case_rules(self))
        return round(block + 2 * self.mm(PrintFigure.COVER_PAPER), 2)

    def flats(self) -> dict[PieceName, Flat]:
        """Lay every piece whose measures are known; raises CannotPrint for figures that make none."""
        return dict(_flats(self))

    def check(self) -> None:
        """Raise CannotPrint unless these figures make pieces that can be drawn for."""
        loss = self.mm(PrintFigure.GUTTER_LOSS)
        if loss >= self.trim.width_mm:
            raise CannotPrint("gutter-too-wide", value=round(loss, 2), width=round(self.trim.width_mm, 2))
        gutter = self.mm(PrintFigure.GUTTER)
        if gutter >= self.trim.width_mm:
            raise CannotPrint("gutter-too-wide", value=round(gutter, 2), width=round(self.trim.width_mm, 2))
        panels = [panel for flat in self.flats().values() for panel in flat.panels]
        spines = [panel.width_mm for panel in panels if panel.kind == PanelKind.SPINE]
        if spines and max(spines) > MOST_SPINE_MM:
            raise CannotPrint("spine-too-wide", value=round(max(spines), 2), most=MOST_SPINE_MM)

    @property
    def limits(self) -> FileLimits:
        """Give what its files are held against."""
        asked = self.figures.ink_limit
        return FileLimits(ink=InkCondition(asked, "own") if asked else INK_CONDITIONS[self.figures.condition])


def _starting(book: BookPrint, which: PrintFigure) -> StartingValue:
    is_inch = book.figures.unit == Unit.INCH
    case, jacket = CASE_RULES[book.figures.case_rules], JACKET_RULES[book.figures.jacket_rules]
    is_case = book.binding == BindingKind.CASE
    bleed = StartingValue(0.125 * MM_PER_INCH, "bleed-inch") if is_inch else StartingValue(3.0, "bleed-metric")
    safety = StartingValue(0.25 * MM_PER_INCH, "safety-inch") if is_inch else StartingValue(5.0, "safety-metric")
    return {
        PrintFigure.BLEED: bleed,
        PrintFigure.SAFETY: safety,
        PrintFigure.GUTTER_LOSS: StartingValue(_LOSS_GLUED_MM, "loss-glued")
        if book.binding == BindingKind.PAPERBACK
        else StartingValue(0.0, "loss-sewn"),
        **_of_finishes(),
        PrintFigure.GUTTER: StartingValue(0.5 * MM_PER_INCH if is_inch else 13.0, "gutter-guide"),
        PrintFigure.COVER_BLEED: StartingValue(case.bleed_mm, case.source) if is_case else bleed,
        PrintFigure.COVER_SAFETY: StartingValue(case.safety_mm, case.source) if is_case else safety,
        PrintFigure.COVER_PAPER: StartingValue(0.0, "not-told"),
        PrintFigure.BOARD: StartingValue(case.board_mm, case.source),
        PrintFigure.BOARD_TALLER: StartingValue(case.board_taller_mm, case.source),
        PrintFigure.BOARD_NARROWER: StartingValue(case.board_narrower_mm, case.source),
        PrintFigure.HINGE: StartingValue(case.hinge_mm, case.source),
        PrintFigure.TURN_IN: StartingValue(case.turn_in_mm, case.source),
        PrintFigure.SPINE_MORE: StartingValue(case.spine_more_mm, case.source),
        PrintFigure.JACKET_BLEED: StartingValue(jacket.bleed_mm, jacket.source),
        PrintFigure.JACKET_SAFETY: StartingValue(jacket.safety_mm, jacket.source),
        PrintFigure.JACKET_TALLER: StartingValue(jacket.taller_mm, jacket.source),
        PrintFigure.JACKET_WIDER: StartingValue(jacket.panel_wider_mm, jacket.source),
        PrintFigure.JACKET_SPINE_MORE: StartingValue(jacket.spine_more_mm, jacket.source),
        PrintFigure.FLAP: StartingValue(jacket.flap_mm, jacket.source),
    }[which]


def _of_finishes() -> dict[PrintFigure, StartingValue]:
    found: dict[PrintFigure, StartingValue] = {}
    for finish, (line, gap) in _FINISHES.items():
        limits = FINISH_LIMITS[finish]
        found[line] = StartingValue(limits.least_line_mm, limits.source)
        found[gap] = StartingValue(limits.least_gap_mm, limits.source)
    return found


def _case_rules(book: BookPrint) -> CaseRules:
    return CaseRules(
        source=CASE_RULES[book.figures.case_rules].source,
        board_taller_mm=book.mm(PrintFigure.BOARD_TALLER),
        board_narrower_mm=book.mm(PrintFigure.BOARD_NARROWER),
        hinge_mm=book.mm(PrintFigure.HINGE),
        turn_in_mm=book.mm(PrintFigure.TURN_IN),
        board_mm=book.mm(PrintFigure.BOARD),
        spine_more_mm=book.mm(PrintFigure.SPINE_MORE),
        bleed_mm=book.mm(PrintFigure.COVER_BLEED),
        safety_mm=book.mm(PrintFigure.COVER_SAFETY),
    )


def _jacket_rules(book: BookPrint) -> JacketRules:
    rules = JACKET_RULES[book.figures.jacket_rules]
    return JacketRules(
        source=rules.source,
        taller_mm=book.mm(PrintFigure.JACKET_TALLER),
        panel_wider_mm=book.mm(PrintFigure.JACKET_WIDER),
        spine_more_mm=book.mm(PrintFigure.JACKET_SPINE_MORE),
        flap_mm=book.mm(PrintFigure.FLAP),
        least_flap_mm=rules.least_flap_mm,
        bleed_mm=book.mm(PrintFigure.JACKET_BLEED),
        safety_mm=book.mm(PrintFigure.JACKET_SAFETY),
    )


def _flats(book: BookPrint) -> Iterator[tuple[PieceName, Flat]]:
    bleed, safety = book.mm(PrintFigure.BLEED), book.mm(PrintFigure.SAFETY)
    gutter = min(book.mm(PrintFigure.GUTTER), book.trim.width_mm)
    # Each opening of a board book is one flat board: nothing is lost in its fold, but type still keeps off it.
    yield PieceName.SPREAD, covers.spread(book.trim, bleed_mm=bleed, safety_mm=safety, gutter_mm=gutter)
    yield PieceName.PAGE, covers.single_page(book.trim, bleed_mm=bleed, safety_mm=safety)
    spine = book.spine_mm
    if spine is None:
        return
    if book.binding != BindingKind.CASE:
        yield (
            PieceName.COVER,
            covers.paperback_cover(
                book.trim, spine, bleed_mm=book.mm(PrintFigure.COVER_BLEED), safety_mm=book.mm(PrintFigure.COVER_SAFETY)
            ),
        )
        return
    yield PieceName.COVER, covers.case_wrap(book.trim, book.block_mm or 0.0, _case_rules(book))
    if book.is_jacketed:
        yield PieceName.JACKET, covers.jacket(book.trim, spine, _jacket_rules(book))
