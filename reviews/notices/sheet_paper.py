"""The ten lines of a statement on one A4 page."""

from __future__ import annotations

import io
from collections.abc import Sequence

from django.utils.translation import gettext as _
from reportlab.lib.colors import black
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Paragraph, SimpleDocTemplate, Spacer, Table

from reviews.notices.letter_paper import BODY, GREY, QUIET, TITLE
from reviews.notices.type import SANS, SANS_BOLD, printable
from reviews.pages.statement_sheet import TenLines
from reviews.pages.wording.dates import day_words
from reviews.pages.wording.term_sets import CAUTION

MARGIN = 20 * mm
WIDTH = A4[0] - 2 * MARGIN - 12
ABOUT = ParagraphStyle("sheet-about", BODY, fontName=SANS_BOLD, fontSize=9, leading=12)
SAID = ParagraphStyle("sheet-said", BODY, fontName=SANS, fontSize=9.5, leading=13)
CITED = ParagraphStyle("sheet-cited", BODY, fontName=SANS, fontSize=7.5, leading=10, textColor=GREY)
WARNING = ParagraphStyle("sheet-warning", SAID, fontName=SANS_BOLD, borderWidth=1, borderColor=black, borderPadding=6,
                         spaceBefore=10, spaceAfter=10)  # fmt: skip


def sheet_pdf(sheet: TenLines) -> bytes:
    """Set the ten lines on one page. The same statement gives the same bytes."""
    out = io.BytesIO()
    page = sheet.page
    title = f"{page.book.title}: where the contract stood at the end of {day_words(page.statement.as_of)}"
    document = SimpleDocTemplate(
        out, pagesize=A4, leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN, bottomMargin=MARGIN,
        title=printable(title), invariant=1,
    )  # fmt: skip
    publisher = f"{page.book.title}, {page.book.publisher}" if page.book.publisher else page.book.title
    head: list[Flowable] = [
        _said(publisher, TITLE),
        _said(_("Where the contract stood at the end of {day}").format(day=day_words(page.statement.as_of)), BODY),
        _said(str(CAUTION), WARNING),
        Spacer(1, 4),
    ]
    foot = _("The numbers are lines of the book’s ledger. The statement behind this page gives each sum’s working.")
    if page.stand:
        foot += " " + _("The ledger was at {stand}.").format(stand=page.stand)
    document.build([*head, _table(sheet), Spacer(1, 8), _said(foot, QUIET)])
    return out.getvalue()


def _table(sheet: TenLines) -> Flowable:
    rows: Sequence[Sequence[Paragraph]] = [
        (
            _said(row.about, ABOUT),
            _said(row.words[:1].upper() + row.words[1:], SAID),
            _said(row.cited or _("no line"), CITED),
        )
        for row in sheet.rows
    ]
    rules = [("LINEBELOW", (0, 0), (-1, -1), 0.3, GREY), ("LINEABOVE", (0, 0), (-1, 0), 1, black),
             ("VALIGN", (0, 0), (-1, -1), "TOP"), ("TOPPADDING", (0, 0), (-1, -1), 5),
             ("BOTTOMPADDING", (0, 0), (-1, -1), 6)]  # fmt: skip
    shares = (3, 5.5, 2.5)
    return Table(rows, colWidths=[WIDTH * share / sum(shares) for share in shares], style=rules)


def _said(text: str, style: ParagraphStyle) -> Paragraph:
    safe = printable(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return Paragraph(safe, style)
