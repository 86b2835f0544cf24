"""How a picture lies on its printed page."""

from __future__ import annotations

from dataclasses import replace

from reviews.geometry import MM_PER_INCH, PageFrame
from reviews.models import Passage, Picture
from reviews.press.pages import PieceKind
from reviews.rules.states import StageKind

# A cover picture this much wider than one page shows front and back together.
_WRAP_ASPECT = 1.6

# Our own bounds. A sheet with marks is larger than page and bleed by more than a generous bleed would be; a file that
# says it is half as large again states a resolution nobody meant (72 ppi, as many programs write unasked).
_SHEET_BEYOND_MM = 10.0
_SHEET_AT_MOST = 1.5


def frame_of(picture: Picture, passage: Passage) -> PageFrame | None:
    """Say how a picture lies on its page; None until its size is known. Needs book, spread and stage joined."""
    if not picture.width_px or not picture.height_px:
        return None
    book, across = passage.book, passage.spread.as_piece().n_pages_across
    page_aspect = float(book.trim_width_mm) / float(book.trim_height_mm)
    if passage.spread.kind == PieceKind.COVER and picture.width_px / picture.height_px > _WRAP_ASPECT * page_aspect:
        across = 2
    frame = PageFrame(
        width_px=picture.width_px,
        height_px=picture.height_px,
        trim_width_mm=float(book.trim_width_mm),
        trim_height_mm=float(book.trim_height_mm),
        bleed_mm=float(book.bleed_mm),
        n_pages_across=across,
    )
    # An earlier stage's art is looked at from the proof as well, and is no printer's sheet for that.
    is_proof = passage.stage.kind == StageKind.PROOF and picture.hand_in.passage_id == passage.pk
    return replace(frame, sheet_mm=_sheet_of(picture, frame)) if is_proof else frame


def _sheet_of(picture: Picture, frame: PageFrame) -> tuple[float, float] | None:
    """Say how large a printer's sheet is by its file's own resolution; None where that says no larger than the page."""
    ppi = picture.facts.get("ppi_x"), picture.facts.get("ppi_y")
    if not all(ppi) or picture.width_px is None or picture.height_px is None:
        return None
    sheet = picture.width_px * MM_PER_INCH / ppi[0], picture.height_px * MM_PER_INCH / ppi[1]
    bled = frame.across_mm + 2 * frame.bleed_mm, frame.trim_height_mm + 2 * frame.bleed_mm
    beyond = (page + _SHEET_BEYOND_MM <= size <= page * _SHEET_AT_MOST for size, page in zip(sheet, bled, strict=True))
    return sheet if all(beyond) else None
