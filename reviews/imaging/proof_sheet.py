"""Look where the trim is on a printer's sheet: the trim box of a PDF, read in a confined child, and its trim marks."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

from reviews.imaging.decode import DEFAULT_LIMITS, read_rgb
from reviews.imaging.limits import Limits
from reviews.imaging.proof.trim_marks import LOOKED_PX, find_marks
from reviews.imaging.results import PictureFacts, Refusal
from reviews.press.proof_sheet import SHEET_METHOD, SheetFound, TrimFound, turned_clockwise

# Programs write the page's own box for the trim unasked: only what is smaller was told by somebody.
_LEAST_INSIDE_MM = 0.2


def sheet_of(path: Path, facts: PictureFacts, *, limits: Limits = DEFAULT_LIMITS) -> SheetFound | Refusal:
    """Say where the trim is on a file, as far as its box and its marks tell; ``facts`` are those of the same file."""
    pixels = read_rgb(path, LOOKED_PX, page=facts.page, is_strict=False, limits=limits)
    if isinstance(pixels, Refusal):
        return pixels
    return SheetFound(box=trim_box_of(facts), marks=find_marks(pixels))


def facts_of_sheet(path: Path, facts: PictureFacts | Refusal) -> dict[str, Any]:
    """Write where the trim is on a file, as it is kept among its facts; or why it could not be looked at."""
    found = facts if isinstance(facts, Refusal) else sheet_of(path, facts)
    told = {"code": found.code} if isinstance(found, Refusal) else asdict(found)
    return {"method": SHEET_METHOD, **told}


def trim_box_of(facts: PictureFacts) -> TrimFound | None:
    """Give the trim box of a PDF page as it is looked at; None of other files, and where the box is the page itself."""
    boxes = {box.name: box for box in facts.page_boxes}
    if not {"trim", "drawn"} <= boxes.keys():
        return None
    page, trim = boxes["drawn"], boxes["trim"]
    wide, high = page.right_mm - page.left_mm, page.top_mm - page.bottom_mm
    if min(wide, high, trim.right_mm - trim.left_mm, trim.top_mm - trim.bottom_mm) <= 0:
        return None
    left, right = trim.left_mm - page.left_mm, page.right_mm - trim.right_mm
    below, above = trim.bottom_mm - page.bottom_mm, page.top_mm - trim.top_mm
    inside = left, right, below, above
    if min(inside) < -_LEAST_INSIDE_MM or max(inside) < _LEAST_INSIDE_MM:
        return None
    told = TrimFound(left=left / wide, top=above / high, right=1 - right / wide, bottom=1 - below / high)
    return turned_clockwise(told, facts.page_turn)
