"""Draw one page of a PDF as a picture, and keep the page's boxes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pypdfium2
import pypdfium2.raw as pdfium

from reviews.imaging.results import PageBox, Refusal

PdfError = pypdfium2.PdfiumError

DEFAULT_PPI = 300.0
# The page is drawn whole, at 4 bytes a pixel while it is drawn: 60 million pixels are 240 MB.
MAX_DRAWN_PIXELS = 60_000_000
_POINTS_PER_INCH = 72.0
_MM_PER_POINT = 25.4 / _POINTS_PER_INCH
DAMAGED = Refusal("damaged", {"how": "not-opened", "kind": "PDF"})
LOCKED = Refusal("locked", {"kind": "PDF"})


@dataclass(frozen=True, kw_only=True)
class PdfPage:
    """One page: how large it will be drawn, its boxes, and how far it is turned clockwise after they were told."""

    width_px: int
    height_px: int
    ppi: float
    n_pages: int
    boxes: tuple[PageBox, ...]
    turn: int


class PdfFile:
    """An open PDF; close it when done."""

    def __init__(self, path: Path) -> None:
        self._document = pypdfium2.PdfDocument(path)

    def __enter__(self) -> PdfFile:
        return self

    def __exit__(self, *_: object) -> None:
        self._document.close()

    def page(self, number: int, ppi: float | None) -> PdfPage | Refusal:
        """Measure a page at the wished resolution, or at the finest that stays within the limit."""
        n_pages = len(self._document)
        if n_pages < 1:
            return DAMAGED
        if not 0 <= number < n_pages:
            return Refusal(
                "no-such-page", {"how": "fewer-pages", "kind": "PDF", "n_pages": n_pages, "page": number + 1}
            )
        page = self._document[number]
        width_in, height_in = (side / _POINTS_PER_INCH for side in page.get_size())
        if not (0 < width_in < 1000 and 0 < height_in < 1000):
            return DAMAGED
        finest = math.sqrt(MAX_DRAWN_PIXELS / (width_in * height_in))
        chosen = min(ppi or DEFAULT_PPI, finest)
        return PdfPage(
            width_px=_whole(width_in * chosen),
            height_px=_whole(height_in * chosen),
            ppi=chosen,
            n_pages=n_pages,
            boxes=_boxes(page),
            turn=page.get_rotation(),
        )

    def draw(self, number: int, measured: PdfPage) -> bytes:
        """Draw a page over white; gives rows of four bytes a pixel: red, green, blue and one to ignore."""
        bitmap = pypdfium2.PdfBitmap.new_native(measured.width_px, measured.height_px, pdfium.FPDFBitmap_BGRx)
        bitmap.fill_rect((255, 255, 255, 255), 0, 0, measured.width_px, measured.height_px)
        pdfium.FPDF_RenderPageBitmap(
            bitmap,
            self._document[number],
            0,
            0,
            measured.width_px,
            measured.height_px,
            0,
            pdfium.FPDF_ANNOT | pdfium.FPDF_REVERSE_BYTE_ORDER,
        )
        return bytes(bitmap.buffer)


def _whole(side_px: float) -> int:
    # A page of 56 mm at 254 ppi is 560 pixels; its points, rounded in the file, must not make it 561.
    return max(1, math.ceil(side_px - 0.01))


def _boxes(page: Any) -> tuple[PageBox, ...]:
    """Read what is drawn of a page, and its bleed and trim where it tells them itself: nothing stands in for them.

    The media and crop boxes may be told once for all pages; pdfium gives a page's own ones only, and a letter's size
    in place of those it has from its parent. What it draws goes by either.
    """
    told = {"drawn": page.get_bbox(), "bleed": page.get_bleedbox(False), "trim": page.get_trimbox(False)}
    return tuple(_box(name, box) for name, box in told.items() if box is not None)


def _box(name: str, corners: Sequence[float]) -> PageBox:
    """Give a box in mm; a file may tell any two opposite corners of it (ISO 32000-2, 7.9.5)."""
    x0, y0, x1, y1 = (round(value * _MM_PER_POINT, 3) for value in corners)
    return PageBox(name, min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))


def open_pdf(path: Path) -> PdfFile | Refusal:
    """Open a PDF, or say why it cannot be opened."""
    try:
        return PdfFile(path)
    except pypdfium2.PdfiumError as problem:
        return LOCKED if "password" in str(problem).lower() else DAMAGED
