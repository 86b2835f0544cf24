"""How a picture lies on its printed page: which flat of the book's print set-up it shows, and where on it."""

from __future__ import annotations

from dataclasses import replace

from reviews.geometry import MM_PER_INCH, Box, PageFrame
from reviews.models import Passage, Picture
from reviews.press.flats import Flat, PanelKind
from reviews.press.pages import PieceKind
from reviews.press.placing import PlacedPicture, place
from reviews.press.proof_sheet import NotLaid, is_page_to_its_edges
from reviews.press.refused import CannotPrint
from reviews.press.set_up import PieceName
from reviews.queries.print_set_ups import print_of
from reviews.queries.proof_sheets import lay_printers, was_looked_at
from reviews.rules.hands import PRINTERS_STAGES

# Our own bounds. A sheet with marks is larger than page and bleed by more than a generous bleed would be; a file that
# says it is half as large again states a resolution nobody meant (72 ppi, as many programs write unasked).
_SHEET_BEYOND_MM = 10.0
_SHEET_AT_MOST = 1.5
_TELLS_OF_A_SHEET = frozenset({NotLaid.OTHER_SHAPE, NotLaid.SEVERAL})


def flats_for(passage: Passage) -> list[Flat]:
    """List the flats that a picture of this passage may show; needs book, with its print set-up, and spread joined.

    A cover picture is the whole cover once its spine is known, or the front alone, as ideas are; before the spine is
    known two pages side by side stand for back and front.
    """
    try:
        flats = print_of(passage.book).flats()
    except CannotPrint:
        return []
    if passage.spread.kind == PieceKind.COVER:
        return [flats[PieceName.PAGE], _whole_cover(flats)]
    across = passage.spread.as_piece().n_pages_across
    return [flats[PieceName.SPREAD if across == 2 else PieceName.PAGE]]


def _whole_cover(flats: dict[PieceName, Flat]) -> Flat:
    return flats.get(PieceName.COVER) or replace(flats[PieceName.SPREAD], gutter_mm=0.0)


def placed_on(picture: Picture, passage: Passage) -> PlacedPicture | None:
    """Lay a picture on its flat; None while its size is unknown, and where nothing tells where the trim is on it."""
    lying = how_it_lies(picture, passage)
    return lying if isinstance(lying, PlacedPicture) else None


def how_it_lies(picture: Picture, passage: Passage) -> PlacedPicture | NotLaid | None:
    """Lay a picture on its flat, or say why a printer's is not laid; None while its size is unknown."""
    flats = flats_for(passage)
    if not picture.width_px or not picture.height_px or not flats:
        return None
    placed = place(picture.width_px, picture.height_px, flats)
    if not is_printers(picture, passage):
        return placed
    laid = lay_printers(picture, flats)
    if isinstance(laid, PlacedPicture):
        return laid
    is_sheet = _sheet_of(picture, _page_frame(picture, placed.flat)) is not None
    is_page = is_page_to_its_edges(placed, picture.width_px, picture.height_px) or not was_looked_at(picture)
    # Marks that stand round another shape tell of a sheet, whatever its own shape is.
    return placed if is_page and not is_sheet and laid not in _TELLS_OF_A_SHEET else laid


def bears_text(placed: PlacedPicture, passage: Passage) -> bool:
    """Say whether placed text lies on a picture: that of a cover stands on the whole piece, not on its front alone."""
    return passage.spread.kind != PieceKind.COVER or any(p.kind == PanelKind.FRONT for p in placed.flat.panels)


def frame_of(picture: Picture, passage: Passage) -> PageFrame | None:
    """Say how a picture lies on its page; None until its size is known. Needs book, spread and stage joined."""
    flats = flats_for(passage)
    if not picture.width_px or not picture.height_px or not flats:
        return None
    placed = place(picture.width_px, picture.height_px, flats)
    frame = _page_frame(picture, placed.flat)
    if not is_printers(picture, passage):
        return frame
    laid = lay_printers(picture, flats)
    return _on_sheet(picture, laid) if isinstance(laid, PlacedPicture) else _stated(picture, frame)


def is_printers(picture: Picture, passage: Passage) -> bool:
    """Say whether a picture is what the printer made: not an earlier stage's art that is looked at from there."""
    return passage.stage.kind in PRINTERS_STAGES and picture.hand_in.passage_id == passage.pk


def _on_sheet(picture: Picture, laid: PlacedPicture) -> PageFrame:
    wide, high = laid.flat.width_mm, laid.flat.height_mm
    trim = Box(laid.share_x(0), laid.share_y(0), laid.share_x(wide), laid.share_y(high))
    return replace(_page_frame(picture, laid.flat), sheet_mm=(laid.width_mm, laid.height_mm), sheet_trim=trim)


def _stated(picture: Picture, frame: PageFrame) -> PageFrame:
    return replace(frame, sheet_mm=_sheet_of(picture, frame))


def _page_frame(picture: Picture, flat: Flat) -> PageFrame:
    pages = [panel for panel in flat.panels if panel.kind == PanelKind.PAGE]
    spine = sum(panel.width_mm for panel in flat.panels if panel.kind == PanelKind.SPINE)
    # A cover in one piece is told as two halves and what lies between them; hinge and turn-in belong to the halves.
    across = len(pages) or 3
    return PageFrame(
        width_px=picture.width_px or 1,
        height_px=picture.height_px or 1,
        trim_width_mm=(flat.width_mm - spine) / min(across, 2),
        trim_height_mm=flat.height_mm,
        bleed_mm=flat.bleed_mm,
        n_pages_across=across,
        spine_mm=spine,
    )


def _sheet_of(picture: Picture, frame: PageFrame) -> tuple[float, float] | None:
    """Say how large a printer's sheet is by its file's own resolution; None where that says no larger than the page."""
    ppi = picture.facts.get("ppi_x"), picture.facts.get("ppi_y")
    if not all(ppi) or picture.width_px is None or picture.height_px is None:
        return None
    sheet = picture.width_px * MM_PER_INCH / ppi[0], picture.height_px * MM_PER_INCH / ppi[1]
    bled = frame.across_mm + 2 * frame.bleed_mm, frame.trim_height_mm + 2 * frame.bleed_mm
    beyond = (page + _SHEET_BEYOND_MM <= size <= page * _SHEET_AT_MOST for size, page in zip(sheet, bled, strict=True))
    return sheet if all(beyond) else None
