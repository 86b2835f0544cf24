"""The print sheet on paper: one PDF for a spread or for the whole book."""

from __future__ import annotations

import io
from typing import Any

from django.utils.translation import gettext as _
from reportlab.lib.colors import HexColor, black, white
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, KeepTogether, Paragraph, SimpleDocTemplate, Spacer

from reviews import storage
from reviews.imaging.results import PREVIEW_NAME
from reviews.notices.letter_paper import BODY, EDGE, GREY, HEADING, MARGIN, QUIET, RED, TEXT_WIDTH, TITLE
from reviews.notices.type import SANS, SANS_BOLD, face_font, in_face, printable
from reviews.pages.guides import GuideShape
from reviews.pages.on_page import OnPage
from reviews.pages.print_sheet import PrintSheet, SheetPiece
from reviews.pages.table_shapes import TextOnArt
from reviews.pages.wording import press
from reviews.press.text_blocks import Face

BLUE = HexColor("#62b6e0")
PICTURE_HEIGHT = 90 * mm
SAID = ParagraphStyle("print-said", BODY, fontName=SANS, fontSize=9, leading=12.5)
STOPPER = ParagraphStyle("print-stopper", SAID, fontName=SANS_BOLD, textColor=RED)
SMALL_HEAD = ParagraphStyle("print-head", SAID, fontName=SANS_BOLD, spaceBefore=6)
_DASHES: dict[str, list[float]] = {
    "bleed": [1, 2],
    "safety": [4, 3],
    "fold": [9, 3],
    "gutter": [1.5, 4],
    "turn-in": [9, 2, 2, 2],
}


class ArtWithGuides(Flowable):
    """A preview with its text and the guides over it, in blue on black, and red boxes where a fault is."""

    def __init__(self, data: bytes, page: OnPage) -> None:
        super().__init__()
        self.image, self.page = ImageReader(io.BytesIO(data)), page
        self.scale = min(TEXT_WIDTH / page.width_px, PICTURE_HEIGHT / page.height_px)
        self.width, self.height = page.width_px * self.scale, page.height_px * self.scale

    def draw(self) -> None:
        self.canv.drawImage(self.image, 0, 0, self.width, self.height)
        if self.page.text:
            self._text(self.page.text)
        for shape in self.page.guides:
            self._stroke(shape, black, 1.6)
            self._stroke(shape, BLUE, 0.7, _DASHES.get(shape.kind))
        for place in self.page.places:
            self._stroke(place, white, 2.4)
            self._stroke(place, RED, 1.2)

    def _text(self, text: TextOnArt) -> None:
        left, top, wide, high = text["view"]
        across, down = self.width / wide, self.height / high
        for block in text["blocks"]:
            face = Face(block["face"])
            self.canv.setFillColor(HexColor(block["colour"]))
            self.canv.setFont(face_font(face), block["size"] * across)
            for line in block["lines"]:
                self.canv.drawString(
                    (line["x"] - left) * across, self.height - (line["y"] - top) * down, in_face(line["words"], face)
                )

    def _stroke(self, shape: GuideShape, colour: Any, width: float, dash: list[float] | None = None) -> None:
        self.canv.saveState()
        self.canv.setStrokeColor(colour)
        self.canv.setLineWidth(width)
        if dash:
            self.canv.setDash(dash)
        x, top = shape.x * self.scale, self.height - shape.y * self.scale
        if shape.width:
            self.canv.rect(x, top - shape.height * self.scale, shape.width * self.scale, shape.height * self.scale)
        else:
            self.canv.line(x, top, x, top - shape.height * self.scale)
        self.canv.restoreState()


def print_sheet_pdf(sheet: PrintSheet) -> bytes:
    """Set the sheet on A4. The same state of the book gives the same bytes."""
    out = io.BytesIO()
    document = SimpleDocTemplate(
        out, pagesize=A4, leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN, bottomMargin=MARGIN,
        title=printable(_("{title}: print sheet").format(title=sheet.title)), invariant=1,
    )  # fmt: skip
    story: list[Flowable] = [
        _said(_("Print sheet"), TITLE),
        _said(sheet.title, BODY),
        *[_said(fact, QUIET) for fact in sheet.facts],
        _said(str(press.PRINTER_WINS), SMALL_HEAD),
        Spacer(1, 8),
    ]
    for piece in sheet.pieces:
        story += _piece(piece)
    story += _proofs(sheet)

    def foot(canvas: Canvas, laid_out: Any) -> None:
        canvas.setFont(SANS, 8)
        canvas.setFillColor(GREY)
        canvas.drawString(EDGE, 12 * mm, printable(_("{title}, print sheet").format(title=sheet.title)))
        canvas.drawRightString(A4[0] - EDGE, 12 * mm, f"{laid_out.page}")

    document.build(story, onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _piece(piece: SheetPiece) -> list[Flowable]:
    head: list[Flowable] = [_said(piece.where, HEADING)]
    if piece.picture is None:
        return [*head, _said(_("Nothing was handed in yet."), SAID), *[_said(line, SAID) for line in piece.said]]
    head.append(_said(piece.picture.file_name, QUIET))
    if piece.page is not None:
        data = storage.read_all(storage.rendition_name(piece.picture.sha256, PREVIEW_NAME))
        head.append(ArtWithGuides(data, piece.page))
    return [KeepTogether([*head, *[_said(line, SAID) for line in piece.said]]), *_faults(piece.page)]


def _faults(page: OnPage | None) -> list[Flowable]:
    if page is None:
        return [_said(_("Nothing was looked at in this file for print."), SAID)]
    found = [
        _said(f"{fault.weight_words}: {fault.words}", STOPPER if fault.weight == "stopper" else SAID)
        for fault in page.faults
    ]
    if not found:
        found = [_said(_("Nothing was found against the file."), SAID)]
    return [*found, _said(" ".join([page.looked, *page.not_looked]), QUIET)]


def _proofs(sheet: PrintSheet) -> list[Flowable]:
    if not sheet.proofs:
        return [_said(_("Proofs"), HEADING), _said(_("No proof was measured here."), SAID)]
    story: list[Flowable] = [_said(_("Measured proofs"), HEADING)]
    for proof in sheet.proofs:
        told = _("{file}: {verdict}. Against {reference}, limits of {limits}.")
        story.append(
            _said(
                told.format(
                    file=proof.file_name, verdict=proof.verdict_words, reference=proof.reference, limits=proof.limits
                ),
                SMALL_HEAD,
            )
        )
        story += [
            _said(
                _("{line}: {value}, limit {limit}: {verdict}").format(
                    line=line.words, value=line.value, limit=line.limit, verdict=line.verdict_words
                ),
                SAID,
            )
            for line in proof.lines
        ]
    return [*story, _said(str(press.PROOF_CAUTION), QUIET)]


def _said(text: str, style: ParagraphStyle) -> Paragraph:
    safe = printable(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return Paragraph(safe, style)
