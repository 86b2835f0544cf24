"""The letter on paper: one PDF with every note beside its place."""

from __future__ import annotations

import io
from collections.abc import Mapping
from typing import Any
from xml.sax.saxutils import escape

from django.utils.text import capfirst
from reportlab.lib.colors import HexColor, black
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Image, KeepTogether, Paragraph, SimpleDocTemplate, Spacer, Table

from reviews.notices.type import SANS, SANS_BOLD, SERIF, SERIF_BOLD, printable
from reviews.pages.letter_pages import LetterNote, LetterPage, Section
from reviews.pages.wording.dates import day_words, short_day
from reviews.pages.wording.letter_cost import counted_words, extra_words, fees_words, late_words, round_words
from reviews.pages.wording.names import role_words
from reviews.pages.wording.notes import reason_words
from reviews.pages.wording.term_sets import CAUTION as TERMS_CAUTION

RED = HexColor("#b0201a")
GREY = HexColor("#474747")
MARGIN = 22 * mm
NUMBER_WIDTH, CROP_WIDTH, CROP_HEIGHT = 11 * mm, 62 * mm, 52 * mm
PICTURE_HEIGHT = 95 * mm
# The library's frame keeps 6 pt free on each side of what it holds.
EDGE = MARGIN + 6
TEXT_WIDTH = A4[0] - 2 * EDGE

BODY = ParagraphStyle("body", fontName=SERIF, fontSize=11, leading=15)
QUIET = ParagraphStyle("quiet", BODY, fontName=SANS, fontSize=8.5, leading=12, textColor=GREY)
HEADING = ParagraphStyle("heading", BODY, fontName=SERIF_BOLD, fontSize=14, leading=18, spaceBefore=14)
TITLE = ParagraphStyle("title", BODY, fontName=SERIF_BOLD, fontSize=22, leading=27)
ANSWER = ParagraphStyle("answer", BODY, fontName=SANS_BOLD, fontSize=9.5, leading=14, spaceAfter=4)
NUMBER = ParagraphStyle("number", BODY, fontName=SANS_BOLD, fontSize=13, leading=15, textColor=RED)
TAKEN_BACK = ParagraphStyle("taken-back", BODY, fontName=SANS_BOLD, fontSize=11, leading=15, textColor=RED,
                            borderWidth=1, borderColor=RED, borderPadding=6)  # fmt: skip
EFFECT = ParagraphStyle("effect", QUIET, leftIndent=8, spaceAfter=2)
EFFECT_BEYOND = ParagraphStyle("effect-beyond", EFFECT, fontName=SANS_BOLD, textColor=black)
CELL = ParagraphStyle("cell", QUIET, textColor=black)
CAUTION = "Dates and rounds are as counted on the portal; the signed contract decides."


def _paragraph(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(printable(text)).replace("\n", "<br/>"), style)


def letter_pdf(page: LetterPage, crops: Mapping[int, bytes], approved: Mapping[int, bytes] | None = None) -> bytes:
    """Set a sent letter on A4, ``approved`` pictures by passage. The same letter gives the same bytes."""
    out = io.BytesIO()
    letter = page.letter
    document = SimpleDocTemplate(
        out, pagesize=A4, leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN, bottomMargin=MARGIN,
        title=printable(f"{letter.book.title}, letter {letter.number}"),
        author=printable(letter.sender.person.name), invariant=1,
    )  # fmt: skip
    story: list[Flowable] = _head(page)
    if page.book_notes:
        story += [_paragraph("The book", HEADING), *(_note(note, None) for note in page.book_notes)]
    for section in page.sections:
        story += _section(section, crops, (approved or {}).get(section.passage))
    story += [Spacer(1, 16), _paragraph(letter.sender.person.name, BODY), *_cost(page)]

    def foot(canvas: Canvas, laid_out: Any) -> None:
        canvas.setFont(SANS, 8)
        canvas.setFillColor(GREY)
        canvas.drawString(EDGE, 12 * mm, printable(f"{letter.book.title}, letter {letter.number}. {CAUTION}"))
        canvas.drawRightString(A4[0] - EDGE, 12 * mm, f"Page {laid_out.page}")

    document.build(story, onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _head(page: LetterPage) -> list[Flowable]:
    letter, book = page.letter, page.letter.book
    of = f"{book.title}, {book.publisher}" if book.publisher else book.title
    who = f"From {letter.sender.person.name}, {role_words(letter.sender.role)}"
    if page.to_names:
        who += f", to {page.to_names}"
    assert letter.sent_at is not None, "a draft has no paper"
    day = book.day_rule.local_date(letter.sent_at)
    head = [
        _paragraph(f"Letter {letter.number}", TITLE),
        _paragraph(of, QUIET),
        _paragraph(who, QUIET),
        _paragraph(day_words(day), QUIET),
        _paragraph(f"This letter is recorded at {page.stand} of the ledger.", QUIET),
        *_taken_back(page),
        Spacer(1, 10),
    ]
    if page.news:
        head.append(_paragraph(page.news, ANSWER))
    return head + ([_paragraph(letter.words, BODY)] if letter.words else [])


def _taken_back(page: LetterPage) -> list[Flowable]:
    """Say at the head of the paper that nothing in it holds any more."""
    letter = page.letter
    if letter.taken_back_at is None:
        return []
    day = day_words(letter.book.day_rule.local_date(letter.taken_back_at))
    told = f"TAKEN BACK on {day}: {letter.taken_back_because} Nothing in this letter holds; it counts no round."
    return [Spacer(1, 6), _paragraph(told, TAKEN_BACK)]


def _section(section: Section, crops: Mapping[int, bytes], approved: bytes | None) -> list[Flowable]:
    said = section.answer_words
    if section.reopened:
        said += " to a picture that was approved; outside the rounds in the fee"
    if section.waits_for_second:
        said += ", once the editor agrees as well"
    if section.due_on and not section.effects:
        said += f". Next version due {day_words(section.due_on)}"
    head = [_paragraph(section.where, HEADING), _paragraph(f"{said}.", ANSWER)]
    head += [_paragraph(line.words, EFFECT_BEYOND if line.is_cost else EFFECT) for line in section.effects]
    if section.approved_words:
        if approved is not None:
            head += [_fitted(approved, TEXT_WIDTH, PICTURE_HEIGHT), Spacer(1, 4)]
        head.append(_paragraph(section.approved_words, QUIET))
    notes = [_note(note, crops.get(note.row.pk)) for note in section.own_notes]
    return [KeepTogether([*head, *notes[:1]]), *notes[1:]]


def _cost(page: LetterPage) -> list[Flowable]:
    """Set what the letter cost, as it was told before it went, with its caution."""
    if page.cost is None or not page.tells_cost:
        return []
    told = page.cost
    head = ["Changes asked for on", "Round", "Extra fee", "Due again", "Answer late by"]
    rows = [[_paragraph(words, QUIET) for words in head]]
    for ask in told.cost.asks:
        due = short_day(ask.due_on) if ask.due_on else ""
        cells = [ask.where, capfirst(round_words(ask)), extra_words(ask), due, late_words(ask)]
        rows.append([_paragraph(words, CELL) for words in cells])
    rows.append([_paragraph(words, CELL) for words in ("Together", "", fees_words(told.cost), "", "")])
    widths = [TEXT_WIDTH * share for share in (0.26, 0.28, 0.17, 0.15, 0.14)]
    rules = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LINEABOVE", (0, 1), (-1, -1), 0.4, black),
             ("LEFTPADDING", (0, 0), (-1, -1), 0)]  # fmt: skip
    return [
        _paragraph("What it costs", HEADING),
        _paragraph(counted_words(told), QUIET),
        Table(rows, colWidths=widths, style=rules),
        _paragraph(str(TERMS_CAUTION), QUIET),
    ]


def _note(note: LetterNote, crop: bytes | None) -> Flowable:
    words = [_paragraph(note.row.said, BODY), Spacer(1, 3), _paragraph(_by(note), QUIET)]
    cells: list[Any] = [_paragraph(str(note.number), NUMBER), words]
    widths = [NUMBER_WIDTH, TEXT_WIDTH - NUMBER_WIDTH]
    if crop is not None:
        cells.insert(1, _fitted(crop, CROP_WIDTH, CROP_HEIGHT))
        widths = [NUMBER_WIDTH, CROP_WIDTH + 5 * mm, TEXT_WIDTH - NUMBER_WIDTH - CROP_WIDTH - 5 * mm]
    rules = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LINEABOVE", (0, 0), (-1, 0), 0.4, black),
             ("LEFTPADDING", (0, 0), (-1, -1), 0), ("TOPPADDING", (0, 0), (-1, -1), 6),
             ("BOTTOMPADDING", (0, 0), (-1, -1), 8)]  # fmt: skip
    return Table([cells], colWidths=widths, style=rules)


def _by(note: LetterNote) -> str:
    place = f", {note.crop.place} of “{note.row.picture.file_name}”" if note.crop else ""
    return f"{reason_words(note.row)}{place}"


def _fitted(crop: bytes, most_width: float, most_height: float) -> Image:
    width, height = ImageReader(io.BytesIO(crop)).getSize()
    scale = min(most_width / width, most_height / height)
    return Image(io.BytesIO(crop), width=width * scale, height=height * scale)
