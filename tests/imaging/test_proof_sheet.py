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


def bare_pdf(path: Path, *, of_all: str = "", of_page: str = "") -> Path:
    """Write an empty page by hand: what its parent says of all pages, and what it says itself."""
    told = (
        "<< /Type /Catalog /Pages 2 0 R >>",
        f"<< /Type /Pages /Kids [3 0 R] /Count 1 {of_all} >>",
        f"<< /Type /Page /Parent 2 0 R {of_page} >>",
    )
    body, places = b"%PDF-1.4\n", []
    for number, one in enumerate(told, 1):
        places.append(len(body))
        body += f"{number} 0 obj\n{one}\nendobj\n".encode()
    rows = "".join(f"{place:010d} 00000 n \n" for place in places)
    path.write_bytes(
        body
        + f"xref\n0 4\n0000000000 65535 f \n{rows}"
        f"trailer << /Size 4 /Root 1 0 R >>\nstartxref\n{len(body)}\n%%EOF".encode()
    )
    return path


@pytest.mark.parametrize(
    ("of_all", "of_page"),
    [
        ("", "/MediaBox [0 0 765 990] /TrimBox [50 50 550 750]"),
        ("/MediaBox [0 0 765 990]", "/TrimBox [50 50 550 750]"),
        ("/MediaBox [0 0 1765 1990] /CropBox [100 200 865 1190]", "/TrimBox [150 250 650 950]"),
        ("/MediaBox [0 0 765 990]", "/TrimBox [550 750 50 50]"),  # any two corners, by ISO 32000
        ("", "/MediaBox [765 990 0 0] /TrimBox [50 50 550 750]"),
    ],
    ids=["its own", "of all pages", "cropped for all", "the other way round", "a sheet the other way round"],
)
def test_a_trim_lies_on_the_sheet_that_is_drawn_wherever_that_is_told(tmp_path, of_all, of_page):
    facts = facts_of(bare_pdf(tmp_path / "sheet.pdf", of_all=of_all, of_page=of_page))
    assert facts.width_px / facts.height_px == pytest.approx(765 / 990, abs=0.001)
    box = trim_box_of(facts)
    assert box is not None
    assert (box.left, box.right) == pytest.approx((50 / 765, 550 / 765), abs=1e-4)
    assert (box.top, box.bottom) == pytest.approx((1 - 750 / 990, 1 - 50 / 990), abs=1e-4)


@pytest.mark.parametrize(
    ("of_all", "of_page"),
    [
        ("/MediaBox [0 0 1765 1990]", ""),
        ("/MediaBox [0 0 1765 1990]", "/TrimBox [0 0 99999999999999999999999999999999999999999999 800]"),
        ("/MediaBox [0 0 1765 1990]", "/TrimBox [100 100 100 600]"),
        ("/MediaBox [0 0 1765 1990]", "/TrimBox [-900 -900 -100 -100]"),
    ],
)
def test_a_page_that_tells_no_trim_or_nonsense_is_given_none(tmp_path, of_all, of_page):
    assert trim_box_of(facts_of(bare_pdf(tmp_path / "sheet.pdf", of_all=of_all, of_page=of_page))) is None


def test_a_page_without_a_trim_box_of_its_own_tells_none(tmp_path):
    found = sheet_of(sheet_pdf(tmp_path / "sheet.pdf", has_box=False), facts_of(tmp_path / "sheet.pdf"))
    assert not isinstance(found, Refusal) and found.box is None and found.marks == ()


def test_a_trim_box_outside_what_is_shown_tells_none(tmp_path):
    path = sheet_pdf(tmp_path / "sheet.pdf", crop=(30.0, 2.0, 112.0, 70.0))
    assert trim_box_of(facts_of(path)) is None
