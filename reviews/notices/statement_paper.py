"""The statement on paper: the same figures as on the screen, each with the ledger lines that made it."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from reportlab.lib.colors import HexColor, black
from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Paragraph, SimpleDocTemplate, Spacer, Table

from reviews.notices.letter_paper import BODY, GREY, HEADING, QUIET, TITLE
from reviews.notices.type import SANS, SANS_BOLD, printable
from reviews.pages.statement import StatementPage
from reviews.pages.statement_money import SumRow
from reviews.pages.wording.dates import day_words
from reviews.pages.wording.due_dates import cannot_meet_words, move_words
from reviews.pages.wording.term_sets import CAUTION
from reviews.queries.line_names import named
from reviews.rules.contract.rounds import RoundSum

MARGIN = 18 * mm
PAGE = landscape(A4)
WIDTH = PAGE[0] - 2 * MARGIN - 12
SHADE = HexColor("#f0f0f0")
CELL = ParagraphStyle("cell", BODY, fontName=SANS, fontSize=8, leading=10.5)
CELL_HEAD = ParagraphStyle("cell-head", CELL, fontName=SANS_BOLD)
WARNING = ParagraphStyle("warning", BODY, fontName=SANS_BOLD, fontSize=9, leading=13, borderWidth=1,
                         borderColor=black, borderPadding=6, spaceBefore=8, spaceAfter=12)  # fmt: skip

#: A cell lists this many ledger lines; the screen and the data list all of them.
MOST_LINES = 24


def statement_pdf(page: StatementPage) -> bytes:
    """Set a statement on A4, broadside. The same statement gives the same bytes."""
    out = io.BytesIO()
    title = f"{page.book.title}: statement at the end of {day_words(page.statement.as_of)}"
    document = SimpleDocTemplate(
        out, pagesize=PAGE, leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN, bottomMargin=MARGIN,
        title=printable(title), invariant=1,
    )  # fmt: skip
    story = [*_head(page), *_rounds(page), *_days(page), *_passages(page), *_money(page)]

    def foot(canvas: Canvas, laid_out: Any) -> None:
        canvas.setFont(SANS, 7.5)
        canvas.setFillColor(GREY)
        canvas.drawString(MARGIN + 6, 11 * mm, printable(title))
        canvas.drawString(MARGIN + 6, 7.5 * mm, printable(str(CAUTION)))
        canvas.drawRightString(PAGE[0] - MARGIN - 6, 11 * mm, f"Page {laid_out.page}")

    document.build(story, onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _said(text: str, style: ParagraphStyle) -> Paragraph:
    safe = printable(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return Paragraph(safe, style)


def _table(headings: Sequence[str], rows: Sequence[Sequence[object]], shares: Sequence[float]) -> Flowable:
    body = [[_said(heading, CELL_HEAD) for heading in headings]]
    body += [[_said(str(cell), CELL_HEAD if n == 0 else CELL) for n, cell in enumerate(row)] for row in rows]
    rules = [("LINEBELOW", (0, 0), (-1, -1), 0.3, GREY), ("LINEBELOW", (0, 0), (-1, 0), 1, black),
             ("VALIGN", (0, 0), (-1, -1), "TOP"), ("BACKGROUND", (0, 0), (-1, 0), SHADE),
             ("TOPPADDING", (0, 0), (-1, -1), 2), ("BOTTOMPADDING", (0, 0), (-1, -1), 3)]  # fmt: skip
    widths = [WIDTH * share / sum(shares) for share in shares]
    return Table(body, colWidths=widths, style=rules, repeatRows=1)


def _lines(page: StatementPage, cited: Sequence[int]) -> str:
    entries = named(cited, page.line_names)
    told = ", ".join(entries[:MOST_LINES])
    return f"{told} and {len(entries) - MOST_LINES} more" if len(entries) > MOST_LINES else told or "none"


def _head(page: StatementPage) -> list[Flowable]:
    statement = page.statement
    terms = "the stage plans, since no terms were entered" if page.held.is_implied else (
        f"version {statement.terms.version} of the terms, as it held on that day"
    )  # fmt: skip
    told = ngettext(
        "Counted by {terms}. {n} ledger entry bears on it, the last is entry {last}; the others change no figure.",
        "Counted by {terms}. {n} ledger entries bear on it, the last is entry {last}; the others change no figure.",
        statement.n_entries,
    ).format(terms=terms, n=statement.n_entries, last=page.last_line)
    if page.stand:
        told += _(" The ledger was at {stand}.").format(stand=page.stand)
    head = [
        _said("Statement", TITLE),
        _said(f"{page.book.title}, at the end of {day_words(statement.as_of)}", BODY),
        _said(told, QUIET),
        _said(str(CAUTION), WARNING),
        *(_said(words, BODY) for words in page.about_terms),
    ]
    if page.n_hidden:
        head.append(_said(f"{page.n_hidden} stages that only the illustrator sees are not listed.", QUIET))
    return head + [_said(cannot_meet_words(told), BODY) for told in statement.cannot_meet]


def _book_cells(page: StatementPage) -> list[object]:
    """Write the rounds of the whole book; what is left is told where it can be used, and never added up."""
    found = page.statement.rounds.book
    return ["The whole book", found.in_fee, "see below", found.over, found.outside, found.not_counted,
            _lines(page, found.entries)]  # fmt: skip


def _round_cells(page: StatementPage, where: str, found: RoundSum) -> list[object]:
    return [where, f"{found.in_fee} of {found.included}", found.left, found.over, found.outside,
            found.not_counted, _lines(page, found.entries)]  # fmt: skip


def _rounds(page: StatementPage) -> list[Flowable]:
    rows = [_book_cells(page)]
    rows += [_round_cells(page, group.where, group.rounds) for group in page.groups if group.rounds.entries]
    headings = ("Rounds", "Used of the fee", "Left", "Extra rounds", "Outside the fee", "Not counted", "Ledger entries")
    return [_said("Rounds", HEADING), Spacer(1, 4), _table(headings, rows, (4, 2, 1, 1, 1, 1.5, 4))]


def _day_cells(where: str, days: Any, *, rested: bool) -> list[object]:
    return [where, days.illustrator, days.illustrator_late, days.publisher, days.publisher_late, days.weekend,
            days.holiday, *([days.paused] if rested else []), days.calendar_days]  # fmt: skip


def _days(page: StatementPage) -> list[Flowable]:
    rested = bool(page.pauses)
    rows = [_day_cells("The whole book", page.statement.days, rested=rested)]
    once = _("Days of the calendar, each counted once. {told}. {late}").format(
        told=page.distinct_words, late=page.late_words
    )
    rows += [_day_cells(stage, days, rested=rested) for stage, days in page.stages]
    headings = ("Spread-days", "Illustrator", "of them late", "Publisher", "of them late", "Weekend days",
                "Holidays", *(["Paused"] if rested else []), "Calendar days")  # fmt: skip
    people = [(by, role, found.working, _lines(page, found.entries)) for by, role, found in page.people]
    return [
        _said("Whose days", HEADING), _said(once, BODY), *_pauses(page), Spacer(1, 4),
        _table(headings, rows, (3, *[1] * (len(headings) - 1))),
        *([_said(page.both_words, QUIET)] if page.both_words else []), Spacer(1, 8),
        _table(("Person", "Part", "Working days", "Ledger entries"), people, (3, 3, 1, 2)), *_unended(page),
    ]  # fmt: skip


def _pauses(page: StatementPage) -> list[Flowable]:
    told = _("Paused {words}. Ledger entries: {lines}.")
    return [_said(told.format(words=one.words, lines=_lines(page, one.entries)), BODY) for one in page.pauses]


def _unended(page: StatementPage) -> list[Flowable]:
    rows = [(role, found.working, _lines(page, found.entries)) for role, found in page.unended]
    headings = ("Turns that still run, or that nobody ended: part", "Working days", "Ledger entries")
    return [Spacer(1, 8), _table(headings, rows, (6, 1, 2))] if rows else []


def _passages(page: StatementPage) -> list[Flowable]:
    rows: list[Sequence[object]] = []
    for spread in page.spreads:
        for row in spread.rows:
            if not row.line.turns:
                continue
            due, days = row.due, row.days
            moves = "; ".join(move_words(move) for move in due.moves)
            drawn = f"{days.illustrator} of {days.illustrator_allowed} ({row.drawn_late or '0 late'})"
            answered = f"{days.publisher} of {days.publisher_allowed} ({row.answered_late or '0 late'})"
            stands = f"{row.state}; {row.paused}" if row.paused else row.state
            rows.append(
                [row.where, stands, drawn, answered, due.planned_on or "",
                 f"{due.current_on or ''}{f': {moves}' if moves else ''}", due.met_on or "", _lines(page, row.entries)]
            )  # fmt: skip
    headings = ("Spread and stage", "Status", "Illustrator's days", "Publisher's days", "Planned",
                "Due, and why it moved", "Handed in", "Ledger entries")  # fmt: skip
    return [_said("Spread by spread", HEADING), Spacer(1, 4), _table(headings, rows, (3, 2, 1.6, 1.6, 1.3, 4, 1.3, 3))]


def _money(page: StatementPage) -> list[Flowable]:
    money = page.money
    found: list[Flowable] = [_said("Money", HEADING), Spacer(1, 4)]
    rows: list[Sequence[object]]
    if money.instalments:
        rows = [
            (one.state.name, one.money, one.progress, one.state.met_on or "", one.state.pay_by_on or "", one.billed,
             _lines(page, one.state.entries))
            for one in money.instalments
        ]  # fmt: skip
        headings = ("Instalment", "Amount", "Status", "Met on", "To be paid by", "Invoice", "Ledger entries")
        found += [_table(headings, rows, (3, 2, 2, 1.3, 1.3, 2.5, 2)), Spacer(1, 8)]
    if money.extras:
        rows = [(one.where, one.why, one.on, one.money, _lines(page, one.entries)) for one in money.extras]
        found += [_table(("Extra rounds", "Why", "On", "Fee", "Ledger entries"), rows, (3, 4, 1.3, 2, 1)), Spacer(1, 8)]
    if money.bills:
        rows = [
            (one.bill.number, one.what, one.money, one.bill.invoiced_on, one.said_paid, one.received, one.status,
             _lines(page, one.bill.entries))
            for one in money.bills
        ]  # fmt: skip
        told = (
            "Invoice",
            "For",
            "Amount",
            "Invoiced on",
            "Publisher says paid",
            "Received",
            "Status",
            "Ledger entries",
        )
        found += [_table(told, rows, (1.6, 2.4, 1.8, 1.3, 2, 2, 2.4, 1.5)), Spacer(1, 8)]
    found += _sums(page, "Sum", money.sums)
    found += _sums(page, "If the book were cancelled on this day", money.stopped)
    found += _sums(page, "If the work were rejected on this day", money.rejected)
    return [*found, _said(str(CAUTION), WARNING)]


def _sums(page: StatementPage, title: str, sums: Sequence[SumRow]) -> list[Flowable]:
    """Set each sum with the lines that add up to it under it."""
    rows: list[Sequence[object]] = []
    for row in sums:
        rows.append((row.name, "", row.money, _lines(page, row.entries)))
        rows += [("", line.words, line.money, "") for line in row.working]
    table = _table((title, "Worked out as", "Amount", "Ledger entries"), rows, (3, 4, 2, 3))
    return [table, Spacer(1, 8)] if rows else []
