"""Where the trim is on a file: the trim box of a PDF is where it is drawn, however the page is turned or cropped."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from reportlab.pdfgen.canvas import Canvas

from reviews.imaging.decode import examine, read_rgb
from reviews.imaging.proof_sheet import sheet_of, trim_box_of
from reviews.imaging.results import PictureFacts, Refusal

MM = 72 / 25.4


def sheet_pdf(
    path: Path, *, turn: int = 0, crop: tuple[float, float, float, float] | None = None, has_box: bool = True
) -> Path:
    """Draw a sheet of 120 x 80 mm whose trim, not in the middle, is red."""
    canvas = Canvas(str(path), pagesize=(120 * MM, 80 * MM))
    if crop:
        canvas.setCropBox(tuple(side * MM for side in crop))
    if has_box:
        canvas.setTrimBox((10 * MM, 12 * MM, 90 * MM, 52 * MM))
    canvas.setFillColorRGB(1, 0, 0)
    canvas.rect(10 * MM, 12 * MM, 80 * MM, 40 * MM, stroke=0, fill=1)
    canvas.showPage()
    canvas.save()
    if turn:
        with pypdfium2.PdfDocument(path.read_bytes()) as document:
            document[0].set_rotation(turn)
            document.save(path)
    return path


def red_box(path: Path) -> tuple[float, float, float, float]:
    rgb = read_rgb(path, 3000, ppi=150)
    assert not isinstance(rgb, Refusal)
    rows, columns = np.nonzero((rgb[..., 0] > 200) & (rgb[..., 1] < 90))
    high, wide = rgb.shape[:2]
    return columns.min() / wide, rows.min() / high, (columns.max() + 1) / wide, (rows.max() + 1) / high


def facts_of(path: Path) -> PictureFacts:
    facts = examine(path)
    assert isinstance(facts, PictureFacts)
    return facts


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
@pytest.mark.parametrize("crop", [None, (4.0, 2.0, 112.0, 70.0)], ids=["whole", "cropped"])
def test_a_trim_box_is_where_the_page_draws_it(tmp_path, turn, crop):
    path = sheet_pdf(tmp_path / "sheet.pdf", turn=turn, crop=crop)
    box = trim_box_of(facts_of(path))
    assert box is not None
    assert (box.left, box.top, box.right, box.bottom) == pytest.approx(red_box(path), abs=0.004)


def test_a_page_without_a_trim_box_of_its_own_tells_none(tmp_path):
    found = sheet_of(sheet_pdf(tmp_path / "sheet.pdf", has_box=False), facts_of(tmp_path / "sheet.pdf"))
    assert not isinstance(found, Refusal) and found.box is None and found.marks == ()


def test_a_trim_box_outside_what_is_shown_tells_none(tmp_path):
    path = sheet_pdf(tmp_path / "sheet.pdf", crop=(30.0, 2.0, 112.0, 70.0))
    assert trim_box_of(facts_of(path)) is None
