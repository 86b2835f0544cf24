"""Set how a book is printed: trim, bleed, binding, paper and the printer's figures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from reviews.actions._deed import Act, deed_on
from reviews.actions.book_facts import check_trim
from reviews.actions.print_checks import ask_for_inks_again
from reviews.models import Book, KeptPrinter, Passage, PrintSetUp, Seat, Spread
from reviews.press.page_plan import BindingKind, EndsKind
from reviews.press.pages import Piece, PieceKind, first_is_left, lay_out
from reviews.press.refused import CannotPrint
from reviews.press.set_up import MAY_BE_LESS, MOST_MM, BookPrint, PaperTold, PrinterFigures, PrintFigure
from reviews.press.set_up_text import figures_to_text, paper_to_text
from reviews.queries.print_set_ups import print_of, seen_of
from reviews.rules.print_payloads import PrintTold, SetPrintData
from reviews.rules.states import Deed, Refused, Role, StageKind
from reviews.rules.trim import may_move_trim

MOST_KEPT = 50  # printers under a name on one book


@dataclass(frozen=True, kw_only=True)
class PrintChange:
    """What is asked. ``seen`` is what the form was filled from (``seen_of``); a trim that moves needs a reason."""

    trim_width_mm: Decimal
    trim_height_mm: Decimal
    bleed_mm: Decimal
    binding: BindingKind
    ends: EndsKind
    figures: PrinterFigures
    paper: PaperTold | None
    has_jacket: bool
    printer: str
    keep_as: str
    seen: str | None
    trim_reason: str = ""


def set_print(book_id: int, change: PrintChange, *, actor: Seat) -> PrintSetUp:
    """Set how a book is printed, and keep the printer's figures under a name where one is given.

    Raises Refused for what cannot be folded or cut, for a trim that moves under an approval, without a reason or by
    production, for a binding that would need other pieces of art, and where somebody else set it since.
    """
    with deed_on(Book, book_id, Deed.SET_PRINT, actor) as act:
        book = act.book
        _check_seen(book, change.seen)
        before = _told(print_of(book))
        is_trimmed = _check_trim(book, change, act.by)
        _check_pieces(book, change)
        for name in ("trim_width_mm", "trim_height_mm", "bleed_mm", "binding", "ends"):
            setattr(book, name, getattr(change, name))
        own = {which: mm for which, mm in change.figures.own.items() if which != PrintFigure.BLEED}
        row = PrintSetUp.objects.filter(book=book).first() or PrintSetUp(book=book)
        row.printer, row.has_jacket = change.printer.strip(), change.has_jacket
        row.figures = figures_to_text(change.figures) | {"own": {which.value: mm for which, mm in sorted(own.items())}}
        row.paper = paper_to_text(change.paper)
        row.set_by, row.set_at = act.by, act.now
        row.book = book  # and so the book knows its set-up, before it is kept
        now = _checked(print_of(book))
        if now == before and not change.keep_as.strip():
            raise Refused("nothing-changed")
        book.save(update_fields=["trim_width_mm", "trim_height_mm", "bleed_mm", "binding", "ends"])
        row.save()
        kept = _keep(change.keep_as.strip(), print_of(book), act)
        ask_for_inks_again(book)
        act.holds(book, row, *kept)
        reason = change.trim_reason.strip()[:300] if is_trimmed else ""
        act.record(SetPrintData(before=before, now=now, kept_as=change.keep_as.strip(), trim_reason=reason))
    return row


def _check_seen(book: Book, seen: str | None) -> None:
    if seen_of(book) != (seen or ""):
        raise Refused("print-changed")


def _check_trim(book: Book, change: PrintChange, by: Seat) -> bool:
    """Say whether the trim moves; refuse what the book's own page refuses, and name what was approved at it.

    Ideas have no size yet.
    """
    if (book.trim_width_mm, book.trim_height_mm) == (change.trim_width_mm, change.trim_height_mm):
        return False
    if not may_move_trim(Role(by.role)):
        raise Refused("trim-not-productions")
    approved = Passage.objects.with_places().filter(book=book, approved_picture__isnull=False)
    first = approved.exclude(stage__kind=StageKind.IDEAS).order_by("spread__position").first()
    if first is not None:
        raise Refused("trim-after-approval", where=first.where)
    check_trim(book, (change.trim_width_mm, change.trim_height_mm), change.trim_reason)
    return True


def _check_pieces(book: Book, change: PrintChange) -> None:
    """Refuse a binding under which other pieces of art would be needed than those that are being drawn."""
    if (book.binding, book.ends) == (change.binding, change.ends):
        return
    try:
        asked = lay_out(book.n_pages, change.binding, change.ends)
    except CannotPrint as no:
        raise Refused(no.code, **no.values) from no
    if book.first_is_left != first_is_left(change.binding, change.ends):
        raise Refused("binding-changes-pages")
    stand = [spread.as_piece() for spread in Spread.objects.filter(book=book, removed_at=None)]
    if _by_page(asked) != _by_page(stand):
        raise Refused("binding-changes-pages")


def _by_page(pieces: Iterable[Piece]) -> set[tuple[PieceKind, int | None, str]]:
    """Take openings as two pages each: whether a pair is drawn as one piece or two does not hang on the binding."""
    found: set[tuple[PieceKind, int | None, str]] = set()
    for piece in pieces:
        if piece.kind in {PieceKind.COVER, PieceKind.ENDS} or piece.first_page is None or piece.last_page is None:
            found.add((piece.kind, piece.first_page, piece.label))
        else:
            found |= {(PieceKind.SINGLE, page, "") for page in range(piece.first_page, piece.last_page + 1)}
    return found


def _checked(book_print: BookPrint) -> PrintTold:
    """Try the pieces out before anything is kept."""
    for which, mm in book_print.figures.own.items():
        if not (-20 if which in MAY_BE_LESS else 0) <= mm <= MOST_MM:
            raise Refused("figure-out-of-range", figure=which, value=round(mm, 2), most=MOST_MM)
    try:
        book_print.check()
    except CannotPrint as no:
        raise Refused(no.code, **no.values) from no
    return _told(book_print)


def _told(book_print: BookPrint) -> PrintTold:
    figures = figures_to_text(book_print.figures)
    figures["own"].pop(PrintFigure.BLEED.value, None)
    return PrintTold(
        trim=[book_print.trim.width_mm, book_print.trim.height_mm],
        bleed=round(book_print.mm(PrintFigure.BLEED), 4),
        binding=book_print.binding.value,
        ends=book_print.ends.value,
        printer=book_print.printer,
        paper=paper_to_text(book_print.paper),
        has_jacket=book_print.has_jacket,
        figures=figures,
    )


def _keep(name: str, book_print: BookPrint, act: Act) -> list[KeptPrinter]:
    if not name:
        return []
    row = KeptPrinter.objects.filter(book=act.book, name=name).first()
    if row is None:
        if KeptPrinter.objects.filter(book=act.book).count() >= MOST_KEPT:
            raise Refused("too-many-printers", most=MOST_KEPT)
        row = KeptPrinter(book=act.book, name=name)
    row.figures = figures_to_text(book_print.figures)
    row.kept_by, row.kept_at = act.by, act.now
    row.save()
    return [row]
