"""How a picture lies on a piece: which flat it shows, with its bleed or without, and where each guide falls on it.

No file says whether it includes its bleed, or whether a cover picture is the front alone: both are read from the
proportions, whichever printed size is nearest.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from reviews.press.flats import Flat, Guide, PanelKind, guides


class LaidBy(StrEnum):
    """By what it is known how a picture lies on its flat."""

    EDGES = "edges"  # its own, which are those of the trim or of the bleed
    BOX = "box"  # the trim box of a PDF
    MARKS = "marks"  # the trim marks of a printer's sheet


@dataclass(frozen=True, kw_only=True)
class PlacedPicture:
    """A picture on its flat: ``left_mm``, ``top_mm`` are its corner from that of the trim, below 0 where it is larger.

    A sheet that was scanned askew is turned by ``turn_deg``, clockwise, about the middle of the trim; everything else
    is told as it lies when it is turned straight. ``n_corners`` is how many corners had marks.
    """

    flat: Flat
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    laid_by: LaidBy = LaidBy.EDGES
    turn_deg: float = 0.0
    n_corners: int = 0

    @property
    def middle(self) -> tuple[float, float]:
        """Give the middle of the trim, about which a sheet is turned, as shares of the picture."""
        return self.share_x(self.flat.width_mm / 2), self.share_y(self.flat.height_mm / 2)

    @property
    def has_bleed(self) -> bool:
        return self.left_mm < 0

    def share_x(self, mm: float) -> float:
        """Turn a place across the flat into a share of the picture's width."""
        return (mm - self.left_mm) / self.width_mm

    def share_y(self, mm: float) -> float:
        """Turn a place down the flat into a share of the picture's height."""
        return (mm - self.top_mm) / self.height_mm


@dataclass(frozen=True, kw_only=True)
class PlacedGuide:
    """A guide as shares of the picture; what lies outside it is below 0 or above 1."""

    kind: str
    panel: PanelKind | None
    x0: float
    y0: float
    x1: float
    y1: float


def place(width_px: int, height_px: int, flats: Sequence[Flat]) -> PlacedPicture:
    """Lay a picture on the flat whose proportions are nearest to its own, with its bleed or without."""
    drawn = math.log(width_px / height_px)
    tried = [placed for flat in flats for placed in _ways(flat)]
    return min(tried, key=lambda placed: abs(math.log(placed.width_mm / placed.height_mm) - drawn))


def _ways(flat: Flat) -> Iterable[PlacedPicture]:
    # Without a bleed first: where both fit alike, as on a square, the file's edge is taken for the trim.
    yield PlacedPicture(flat=flat, left_mm=0.0, top_mm=0.0, width_mm=flat.width_mm, height_mm=flat.height_mm)
    if flat.bleed_mm:
        wide, high = flat.with_bleed_mm
        bleed = flat.bleed_mm
        yield PlacedPicture(flat=flat, left_mm=-bleed, top_mm=-bleed, width_mm=wide, height_mm=high)


def placed_guides(placed: PlacedPicture) -> list[PlacedGuide]:
    """Give every guide that falls on the picture; a bleed that it does not have is no guide on it."""
    return [_placed(placed, guide) for guide in guides(placed.flat) if guide.kind != "bleed" or placed.has_bleed]


def _placed(placed: PlacedPicture, guide: Guide) -> PlacedGuide:
    return PlacedGuide(
        kind=guide.kind,
        panel=guide.panel,
        x0=round(placed.share_x(guide.left_mm), 5),
        y0=round(placed.share_y(guide.top_mm), 5),
        x1=round(placed.share_x(guide.right_mm), 5),
        y1=round(placed.share_y(guide.bottom_mm), 5),
    )
