"""The flat of a piece: the sheet as it is cut, its panels side by side, and the lines that art must know.

All in mm, from the top left corner of the trimmed flat; a case wrap is measured to the edge of its turn-in. Sizes are
exact to 0.01 mm. The printer's own template wins over any of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from reviews.press.refused import CannotPrint


class PanelKind(StrEnum):
    """What one upright part of a flat becomes."""

    PAGE = "page"
    BACK = "back"
    SPINE = "spine"
    FRONT = "front"
    HINGE = "hinge"
    FLAP = "flap"
    TURN_IN = "turn-in"


class GuideKind(StrEnum):
    """What a guide stands for."""

    TRIM = "trim"
    BLEED = "bleed"
    SAFETY = "safety"
    FOLD = "fold"
    GUTTER = "gutter"
    TURN_IN = "turn-in"


@dataclass(frozen=True)
class Panel:
    """An upright part of the flat, from ``left_mm``, ``width_mm`` wide."""

    kind: PanelKind
    left_mm: float
    width_mm: float

    @property
    def right_mm(self) -> float:
        return round(self.left_mm + self.width_mm, 2)


@dataclass(frozen=True, kw_only=True)
class Flat:
    """One piece as it lies flat.

    ``safety_mm`` is kept clear inside each visible panel's edge, ``gutter_mm`` on each side of a fold between pages,
    ``turn_in_mm`` is the part of the flat that goes round the board at top and bottom (0 for all but a case).
    """

    width_mm: float
    height_mm: float
    bleed_mm: float
    panels: tuple[Panel, ...]
    safety_mm: float
    gutter_mm: float = 0.0
    turn_in_mm: float = 0.0

    @property
    def folds_mm(self) -> tuple[float, ...]:
        """List where the sheet folds, from the left."""
        return tuple(panel.left_mm for panel in self.panels[1:])

    @property
    def with_bleed_mm(self) -> tuple[float, float]:
        """Give the size of the file to deliver: the flat and its bleed all round."""
        return round(self.width_mm + 2 * self.bleed_mm, 2), round(self.height_mm + 2 * self.bleed_mm, 2)

    def panel(self, kind: PanelKind) -> Panel:
        """Find the first panel of a kind; raise CannotPrint where the piece has none."""
        for panel in self.panels:
            if panel.kind == kind:
                return panel
        raise CannotPrint("no-such-panel", kind=kind)


@dataclass(frozen=True, kw_only=True)
class Guide:
    """A box (left, top, right, bottom in mm, outside the trim below 0) or, where it has no width or height, a line."""

    kind: GuideKind
    left_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float
    panel: PanelKind | None = None


# What type and faces keep clear of; a turn-in or a hinge is no place for either, so they have no safe box.
_SAFE = (PanelKind.PAGE, PanelKind.BACK, PanelKind.FRONT, PanelKind.SPINE, PanelKind.FLAP)


def flat_of(
    widths: tuple[tuple[PanelKind, float], ...],
    height_mm: float,
    *,
    bleed_mm: float,
    safety_mm: float,
    gutter_mm: float = 0.0,
    turn_in_mm: float = 0.0,
) -> Flat:
    """Lay panels side by side from the left; a panel or a height that is not above nought is refused by its name."""
    checked(height_mm, "height")
    panels, left = [], 0.0
    for kind, width_mm in widths:
        panels.append(Panel(kind, round(left, 2), round(checked(width_mm, kind), 2)))
        left += width_mm
    for what, value in (("bleed", bleed_mm), ("safety", safety_mm), ("gutter", gutter_mm), ("turn-in", turn_in_mm)):
        if not 0 <= value < float("inf"):
            raise CannotPrint("below-nought", what=what, value=value)
    return Flat(
        width_mm=round(left, 2),
        height_mm=round(height_mm, 2),
        bleed_mm=bleed_mm,
        panels=tuple(panels),
        safety_mm=safety_mm,
        gutter_mm=gutter_mm,
        turn_in_mm=turn_in_mm,
    )


def checked(value_mm: float, what: str) -> float:
    """Return a measure that is above nought and finite; raise CannotPrint naming what it is otherwise."""
    if not 0 < value_mm < float("inf"):
        raise CannotPrint("not-above-nought", what=what, value=value_mm)
    return value_mm


def guides(flat: Flat) -> list[Guide]:
    """List every guide of a flat: trim, bleed, folds, gutter band, turn-in, and a safe box per visible panel."""
    return [
        _guide(GuideKind.TRIM, 0, 0, flat.width_mm, flat.height_mm),
        _guide(
            GuideKind.BLEED,
            -flat.bleed_mm,
            -flat.bleed_mm,
            round(flat.width_mm + flat.bleed_mm, 2),
            round(flat.height_mm + flat.bleed_mm, 2),
        ),
        *(_guide(GuideKind.FOLD, at, 0, at, flat.height_mm) for at in flat.folds_mm),
        *_gutters(flat),
        *_turn_in(flat),
        *_safe_boxes(flat),
    ]


def _gutters(flat: Flat) -> Iterator[Guide]:
    if not flat.gutter_mm:
        return
    for left, right in zip(flat.panels, flat.panels[1:], strict=False):
        if left.kind == right.kind == PanelKind.PAGE:
            band = round(right.left_mm - flat.gutter_mm, 2), round(right.left_mm + flat.gutter_mm, 2)
            yield _guide(GuideKind.GUTTER, band[0], 0, band[1], flat.height_mm)


def _turn_in(flat: Flat) -> Iterator[Guide]:
    if flat.turn_in_mm:
        inset = flat.turn_in_mm
        yield _guide(GuideKind.TURN_IN, inset, inset, round(flat.width_mm - inset, 2), round(flat.height_mm - inset, 2))


def _safe_boxes(flat: Flat) -> Iterator[Guide]:
    inset = flat.turn_in_mm + flat.safety_mm
    top, bottom = round(inset, 2), round(flat.height_mm - inset, 2)
    for panel in flat.panels:
        if panel.kind not in _SAFE:
            continue
        left, right = round(panel.left_mm + flat.safety_mm, 2), round(panel.right_mm - flat.safety_mm, 2)
        # A spine thinner than its safety has no place for type at all.
        if right > left and bottom > top:
            yield _guide(GuideKind.SAFETY, left, top, right, bottom, panel.kind)


def _guide(
    kind: GuideKind, left: float, top: float, right: float, bottom: float, panel: PanelKind | None = None
) -> Guide:
    return Guide(kind=kind, left_mm=left, top_mm=top, right_mm=right, bottom_mm=bottom, panel=panel)
