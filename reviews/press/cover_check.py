"""What is wrong with the picture of a cover in one piece: the front alone, or a spine that is not the book's any more.

The height of a cover does not hang on its paper, so a picture's proportions tell for which spine it was drawn. Where a
cover has a bleed, a file some 3 mm too wide or more has the proportions of one without bleed, and is told as that.
"""

from __future__ import annotations

from reviews.press.covers import MOST_SPINE_MM
from reviews.press.file_check import FileFacts, FileFault, FoundFault, Weight
from reviews.press.flats import Flat, PanelKind
from reviews.press.placing import PlacedPicture

#: Half a millimetre of spine is seen on a shelf; and no file is exact to less than two of its pixels. Common practice.
_SPINE_OFF_MM = 0.5
_PIXELS_OFF = 2


def spine_drawn_mm(facts: FileFacts, placed: PlacedPicture) -> float:
    """Give the spine for which a picture of the whole cover was drawn, in mm, from its proportions."""
    across = facts.width_px / facts.height_px * placed.height_mm + 2 * placed.left_mm
    spine = sum(panel.width_mm for panel in placed.flat.panels if panel.kind == PanelKind.SPINE)
    return round(across - placed.flat.width_mm + spine, 2)


def cover_faults(facts: FileFacts, placed: PlacedPicture, whole: Flat) -> list[FoundFault]:
    """Hold a cover picture against the whole cover: only the front, or another spine. None where neither is."""
    if placed.flat != whole:
        wide, high = whole.with_bleed_mm
        return [FoundFault(FileFault.FRONT_ALONE, Weight.STOPPER, {"width_mm": wide, "height_mm": high})]
    spine = sum(panel.width_mm for panel in whole.panels if panel.kind == PanelKind.SPINE)
    drawn = spine_drawn_mm(facts, placed)
    least = max(_SPINE_OFF_MM, _PIXELS_OFF * placed.height_mm / facts.height_px)
    # A spine drawn for less than nought or for too much is no spine: then the proportions are wrong altogether.
    if abs(drawn - spine) <= least or not 0 <= drawn <= MOST_SPINE_MM:
        return []
    return [FoundFault(FileFault.SPINE_MOVED, Weight.STOPPER, {"drawn_mm": drawn, "spine_mm": round(spine, 2)})]
