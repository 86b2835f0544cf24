"""How a printer's picture lies on its page, as the review table tells it."""

from __future__ import annotations

from reviews.geometry import MM_PER_INCH
from reviews.models import Passage, Picture
from reviews.pages.wording.proof_sheets import laid_words
from reviews.press.placing import PlacedPicture
from reviews.queries.frames import how_it_lies, is_printers
from reviews.queries.proof_sheets import was_looked_at


def laid_told(picture: Picture, passage: Passage) -> str:
    """Say by what a printer's picture is laid on the trim (no query); nothing of art, nor while its size is unknown."""
    lying = how_it_lies(picture, passage) if is_printers(picture, passage) else None
    if lying is None:
        return ""
    scale = _scale(picture, lying) if isinstance(lying, PlacedPicture) else None
    return laid_words(lying, was_looked_at=was_looked_at(picture), scale=scale)


def _scale(picture: Picture, laid: PlacedPicture) -> float | None:
    """Say how large a PDF shows the page; a picture's own resolution is too often what a program wrote unasked."""
    if picture.facts.get("kind") != "PDF" or not picture.facts.get("ppi_x") or not picture.width_px:
        return None
    return float(picture.width_px * MM_PER_INCH / picture.facts["ppi_x"] / laid.width_mm)


def turn_of(placed: PlacedPicture | None) -> list[float] | None:
    """Tell a script how a sheet lies askew: degrees clockwise, and about which place, in shares of the picture."""
    if placed is None or not placed.turn_deg:
        return None
    x, y = placed.middle
    return [placed.turn_deg, round(x, 5), round(y, 5)]
