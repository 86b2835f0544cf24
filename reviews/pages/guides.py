"""Guides over a picture, as the print set-up has them: trim, bleed, safety, folds, gutter band, edge of the board."""

from __future__ import annotations

from dataclasses import dataclass

from reviews.pages.table_shapes import GuideOnArt
from reviews.pages.wording.press import GUIDES
from reviews.press.placing import PlacedPicture, placed_guides


def guides_on(placed: PlacedPicture | None) -> list[GuideOnArt]:
    """List the guides of a picture in shares of it; none where it is not known how it lies."""
    if placed is None:
        return []
    return [{"kind": guide.kind, "box": [guide.x0, guide.y0, guide.x1, guide.y1]} for guide in placed_guides(placed)]


#: Each kind of guide, in the order of a key, with its name.
GUIDE_KINDS = [(kind.value, words) for kind, words in GUIDES.items()]


@dataclass(frozen=True)
class GuideShape:
    """One guide as SVG over a picture, in its pixels."""

    kind: str
    x: float
    y: float
    width: float
    height: float


def shapes_on(placed: PlacedPicture | None, width_px: int, height_px: int) -> list[GuideShape]:
    """List the guides of a picture in its pixels."""
    return [
        GuideShape(
            guide["kind"],
            round(guide["box"][0] * width_px, 1),
            round(guide["box"][1] * height_px, 1),
            round((guide["box"][2] - guide["box"][0]) * width_px, 1),
            round((guide["box"][3] - guide["box"][1]) * height_px, 1),
        )
        for guide in guides_on(placed)
    ]
