"""How a picture lies on its printed page."""

from __future__ import annotations

from reviews.geometry import PageFrame
from reviews.models import Passage, Picture
from reviews.press.pages import PieceKind

# A cover picture this much wider than one page shows front and back together.
_WRAP_ASPECT = 1.6


def frame_of(picture: Picture, passage: Passage) -> PageFrame | None:
    """Say how a picture lies on its page; None until its size is known. Needs book and spread joined."""
    if not picture.width_px or not picture.height_px:
        return None
    book, across = passage.book, passage.spread.as_piece().n_pages_across
    page_aspect = float(book.trim_width_mm) / float(book.trim_height_mm)
    if passage.spread.kind == PieceKind.COVER and picture.width_px / picture.height_px > _WRAP_ASPECT * page_aspect:
        across = 2
    return PageFrame(
        picture.width_px,
        picture.height_px,
        float(book.trim_width_mm),
        float(book.trim_height_mm),
        float(book.bleed_mm),
        across,
    )
