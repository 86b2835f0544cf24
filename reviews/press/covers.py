"""Covers as flats: spread and page, paperback cover, case wrap, jacket; by rule sets that printers publish.

A rule set is a starting value, named by where it was published; a house keeps its printer's own. What no source gives
is marked as common practice.
"""

from __future__ import annotations

from dataclasses import dataclass

from reviews.geometry import MM_PER_INCH
from reviews.press.flats import Flat, PanelKind, checked, flat_of
from reviews.press.refused import CannotPrint

BLEED_MM, BLEED_INCH = 3.0, 0.125


@dataclass(frozen=True)
class Trim:
    """A page as it is cut, in mm."""

    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        checked(self.width_mm, "trim-width")
        checked(self.height_mm, "trim-height")


@dataclass(frozen=True, kw_only=True)
class CaseRules:
    """How a printer makes a case: what boards are larger or smaller than the page, the hinge, the turn-in, in mm.

    The spine board is the block and two boards and ``spine_more_mm``. ``source`` says where the figures stand.
    """

    source: str
    board_taller_mm: float
    board_narrower_mm: float
    hinge_mm: float
    turn_in_mm: float
    board_mm: float
    spine_more_mm: float
    bleed_mm: float
    safety_mm: float


@dataclass(frozen=True, kw_only=True)
class JacketRules:
    """How a jacket fits over a case: what it is larger than the page by, its spine, its flaps, in mm."""

    source: str
    taller_mm: float
    panel_wider_mm: float
    spine_more_mm: float
    flap_mm: float
    least_flap_mm: float
    bleed_mm: float
    safety_mm: float


def _inches(value: float) -> float:
    return value * MM_PER_INCH


# Published rule sets. PrintNinja and Wakefields: their file set-up guides. dingword: its case calculation; 3 mm board.
CASE_RULES = {
    "printninja": CaseRules(
        source="printninja-guides",
        board_taller_mm=_inches(0.27),
        board_narrower_mm=_inches(0.16),
        hinge_mm=_inches(0.4),
        turn_in_mm=_inches(0.8),
        board_mm=3.0,
        spine_more_mm=0.0,
        bleed_mm=0.0,
        safety_mm=_inches(0.25),
    ),
    "dingword": CaseRules(
        source="dingword-case",
        board_taller_mm=6.0,
        board_narrower_mm=3.5,
        hinge_mm=10.0,
        turn_in_mm=17.0,
        board_mm=3.0,
        spine_more_mm=-0.5,
        bleed_mm=0.0,
        safety_mm=5.0,
    ),
    "square-back": CaseRules(
        source="square-back-rule",
        board_taller_mm=6.0,
        board_narrower_mm=3.0,
        hinge_mm=8.0,
        turn_in_mm=15.0,
        board_mm=2.5,
        spine_more_mm=0.0,
        bleed_mm=0.0,
        safety_mm=5.0,
    ),
}
JACKET_RULES = {
    "printninja": JacketRules(
        source="printninja-guides",
        taller_mm=_inches(0.27),
        panel_wider_mm=_inches(0.3),
        spine_more_mm=_inches(0.04),
        flap_mm=_inches(3.0),
        least_flap_mm=_inches(2.83),
        bleed_mm=_inches(BLEED_INCH),
        safety_mm=_inches(0.125),
    ),
    "wakefields": JacketRules(
        source="wakefields-guide",
        taller_mm=8.0,
        panel_wider_mm=13.0,
        spine_more_mm=0.0,
        flap_mm=80.0,
        least_flap_mm=50.0,
        bleed_mm=3.0,
        safety_mm=10.0,
    ),
}


def spread(trim: Trim, *, bleed_mm: float = BLEED_MM, safety_mm: float = 5.0, gutter_mm: float = 13.0) -> Flat:
    """Lay two facing pages; art across them keeps faces and type ``gutter_mm`` from the fold on each side."""
    pages = ((PanelKind.PAGE, trim.width_mm), (PanelKind.PAGE, trim.width_mm))
    return flat_of(pages, trim.height_mm, bleed_mm=bleed_mm, safety_mm=safety_mm, gutter_mm=gutter_mm)


def single_page(trim: Trim, *, bleed_mm: float = BLEED_MM, safety_mm: float = 5.0) -> Flat:
    """Lay one page."""
    return flat_of(((PanelKind.PAGE, trim.width_mm),), trim.height_mm, bleed_mm=bleed_mm, safety_mm=safety_mm)


def paperback_cover(
    trim: Trim, block_mm: float, *, cover_mm: float = 0.0, bleed_mm: float = BLEED_MM, safety_mm: float = 5.0
) -> Flat:
    """Lay back, spine and front of a cover glued round its block; a stitched book's has no spine (block 0)."""
    spine = block_mm + 2 * cover_mm
    panels = [(PanelKind.BACK, trim.width_mm), (PanelKind.FRONT, trim.width_mm)]
    if spine:
        panels.insert(1, (PanelKind.SPINE, spine))
    return flat_of(tuple(panels), trim.height_mm, bleed_mm=bleed_mm, safety_mm=safety_mm)


MOST_SPINE_MM = 60.0  # no picture book is thicker; common practice, a printer says less


def case_spine_mm(block_mm: float, rules: CaseRules) -> float:
    """Give the width of a case's spine board, in mm to 0.01."""
    return round(checked(block_mm, "block") + 2 * rules.board_mm + rules.spine_more_mm, 2)


def case_wrap(trim: Trim, block_mm: float, rules: CaseRules) -> Flat:
    """Lay the printed paper that goes round the boards of a case, turn-in included (also called paper over board)."""
    board = checked(trim.width_mm - rules.board_narrower_mm, "board-width")
    panels = (
        (PanelKind.TURN_IN, rules.turn_in_mm),
        (PanelKind.BACK, board),
        (PanelKind.HINGE, rules.hinge_mm),
        (PanelKind.SPINE, case_spine_mm(block_mm, rules)),
        (PanelKind.HINGE, rules.hinge_mm),
        (PanelKind.FRONT, board),
        (PanelKind.TURN_IN, rules.turn_in_mm),
    )
    height = trim.height_mm + rules.board_taller_mm + 2 * rules.turn_in_mm
    return flat_of(panels, height, bleed_mm=rules.bleed_mm, safety_mm=rules.safety_mm, turn_in_mm=rules.turn_in_mm)


def jacket(trim: Trim, spine_mm: float, rules: JacketRules, *, flap_mm: float | None = None) -> Flat:
    """Lay a jacket: flap, back, spine, front, flap. ``spine_mm`` is that of the case it goes round."""
    flap = rules.flap_mm if flap_mm is None else flap_mm
    panel = trim.width_mm + rules.panel_wider_mm
    if flap < rules.least_flap_mm:
        raise CannotPrint("flap-too-narrow", value=flap, least=round(rules.least_flap_mm, 2))
    if flap > panel:
        raise CannotPrint("flap-too-wide", value=flap, most=round(panel, 2))
    panels = (
        (PanelKind.FLAP, flap),
        (PanelKind.BACK, panel),
        (PanelKind.SPINE, checked(spine_mm, "spine") + rules.spine_more_mm),
        (PanelKind.FRONT, panel),
        (PanelKind.FLAP, flap),
    )
    return flat_of(panels, trim.height_mm + rules.taller_mm, bleed_mm=rules.bleed_mm, safety_mm=rules.safety_mm)
