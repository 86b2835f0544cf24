"""What may be changed of a book once it is set up: title, publisher, the day it must be done by, and its trim."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from reviews.actions._deed import deed_on
from reviews.actions.print_checks import ask_for_inks_again
from reviews.models import Book, Seat
from reviews.press.refused import CannotPrint
from reviews.queries.briefs import is_sketch_approved
from reviews.queries.print_set_ups import print_of, told_of
from reviews.rules.contract.plans import check_reach
from reviews.rules.payload_shapes import ChangeBookData, FromTo
from reviews.rules.states import Deed, Refused, Role

TRIM = ("trim_width_mm", "trim_height_mm")
FACTS = ("title", "publisher", "final_on", *TRIM)
#: No picture book is smaller or larger; wide of what presses take, which the printer says.
SMALLEST_MM, LARGEST_MM = Decimal(60), Decimal(600)


def change_book(
    book_id: int,
    *,
    title: str,
    publisher: str,
    final_on: date | None,
    trim_width_mm: Decimal | None = None,
    trim_height_mm: Decimal | None = None,
    reason: str = "",
    only: Collection[str] = FACTS,
    actor: Seat,
) -> Book:
    """Change the named facts of a book. Dates already planned stay; the forecast and the account look at the new day.

    Of the facts given, ``only`` these are changed: the others may have been changed meanwhile by somebody else. A trim
    that is not given stays.

    Raises:
        Refused: where nothing differs, the title is empty, the day is past, a moved day or another trim has no reason,
            a trim cannot be or a sketch was approved for the one before, or production would change more than the last
            day.
    """
    with deed_on(Book, book_id, Deed.CHANGE_BOOK, actor) as act:
        book = act.book
        wanted: dict[str, Any] = {"title": title.strip(), "publisher": publisher.strip(), "final_on": final_on}
        given = (trim_width_mm, trim_height_mm)
        wanted |= {name: value or getattr(book, name) for name, value in zip(TRIM, given, strict=True)}
        before = {name: getattr(book, name) for name in FACTS if name in only}
        changed = {name: (value, wanted[name]) for name, value in before.items() if value != wanted[name]}
        if not changed:
            raise Refused("nothing-changed")
        if act.by.role == Role.PRODUCTION and set(changed) != {"final_on"}:
            raise Refused("printers-date-only")
        if not wanted["title"]:
            raise Refused("title-missing")
        if "final_on" in changed:
            _check_day(final_on, reason, act.today)
        if set(changed) & set(TRIM):
            check_trim(book, [wanted[name] for name in TRIM], reason)
        for name, (_, value) in changed.items():
            setattr(book, name, value)
        _keep(book, changed)
        told: dict[str, FromTo] = {
            name: {"from": _written(before), "to": _written(after)} for name, (before, after) in changed.items()
        }
        act.holds(book)
        act.record(ChangeBookData(changed=told, reason=reason.strip()[:300]))
    return book


def _check_day(final_on: date | None, reason: str, today: date) -> None:
    if not reason.strip():
        raise Refused("final-date-reason")
    if final_on is not None and final_on < today:
        raise Refused("final-date-past")
    check_reach(final_on, today=today)


def _keep(book: Book, changed: Collection[str]) -> None:
    """Write what changed; where the trim did, the pieces are cut and the share that ink covers is told at its size."""
    is_trimmed = bool(set(changed) & set(TRIM))
    if is_trimmed and told_of(book):
        _check_pieces(book)
    book.save(update_fields=list(changed))
    if is_trimmed:
        ask_for_inks_again(book)


def _check_pieces(book: Book) -> None:
    """Refuse a trim from which the pieces that were told could not be cut, such as a flap wider than its cover."""
    try:
        print_of(book).check()
    except CannotPrint as no:
        raise Refused(no.code, **no.values) from no


def check_trim(book: Book, trim: Iterable[Decimal], reason: str) -> None:
    """Refuse another trim where the art was made for the one before: an approved sketch is composed for its page."""
    if is_sketch_approved(book, None):
        raise Refused("trim-sketch-approved")
    if not reason.strip():
        raise Refused("trim-reason")
    if any(not SMALLEST_MM <= side <= LARGEST_MM for side in trim):
        raise Refused("trim-out-of-range", smallest=SMALLEST_MM, largest=LARGEST_MM)


def _written(value: date | Decimal | str | None) -> str | None:
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return value.isoformat() if isinstance(value, date) else value
