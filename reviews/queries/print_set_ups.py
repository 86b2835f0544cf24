"""A book's print set-up as the printed object knows it, and the printers whose figures a person may use again."""

from __future__ import annotations

from dataclasses import replace

from reviews.models import Book, KeptPrinter, PrintSetUp, Seat
from reviews.press.covers import Trim
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.press.set_up import BookPrint, PrinterFigures, PrintFigure
from reviews.press.set_up_text import figures_from_text, paper_from_text
from reviews.rules.permits import may
from reviews.rules.states import Deed, Role

#: Half of what the book's own bleed is rounded to: an eighth of an inch is stored as 3.18 and still is one.
_SAME_MM = 0.0051


def told_of(book: Book) -> PrintSetUp | None:
    """Find what was told of a book's printing (1 query where it is not joined)."""
    return getattr(book, "print_set_up", None)


def seen_of(book: Book) -> str:
    """Say what a form of a book's printing was filled from: the set-up, and the trim, which moves elsewhere too."""
    told = told_of(book)
    return f"{book.trim_width_mm:.2f}x{book.trim_height_mm:.2f} {told.set_at.isoformat() if told else '-'}"


def print_of(book: Book) -> BookPrint:
    """Give a book's printing, starting values where nothing was told (1 query where it is not joined)."""
    told = told_of(book)
    blank = BookPrint(
        trim=Trim(float(book.trim_width_mm), float(book.trim_height_mm)),
        n_pages=book.n_pages,
        binding=BindingKind(book.binding),
        ends=EndsKind(book.ends),
        figures=figures_from_text(told.figures) if told else PrinterFigures(),
        paper=paper_from_text(told.paper) if told else None,
        has_jacket=told.has_jacket if told else False,
        printer=told.printer if told else "",
    )
    return with_bleed(blank, float(book.bleed_mm))


def with_bleed(book_print: BookPrint, bleed_mm: float) -> BookPrint:
    """Let a bleed be the printer's own where it is not the starting value."""
    own: dict[PrintFigure, float] = {
        which: mm for which, mm in book_print.figures.own.items() if which != PrintFigure.BLEED
    }
    blank = replace(book_print, figures=replace(book_print.figures, own=own))
    if abs(blank.starting(PrintFigure.BLEED).mm - bleed_mm) < _SAME_MM:
        return blank
    return replace(blank, figures=replace(blank.figures, own=own | {PrintFigure.BLEED: bleed_mm}))


def printers_for(seat: Seat) -> list[KeptPrinter]:
    """List the printers kept on any book on which this person sets print figures, newest of each name (1 query)."""
    setters = [role for role in Role if may(role, Deed.SET_PRINT)]
    rows = KeptPrinter.objects.filter(
        book__seats__person_id=seat.person_id, book__seats__ended_at=None, book__seats__role__in=setters
    )
    newest: dict[str, KeptPrinter] = {}
    for row in rows.order_by("-kept_at", "-pk").distinct():
        newest.setdefault(row.name.casefold(), row)
    return sorted(newest.values(), key=lambda row: row.name.casefold())
