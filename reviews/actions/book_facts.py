"""What may be changed of a book once it is set up: its title, its publisher, the day it must be done by."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any

from reviews.actions._deed import deed_on
from reviews.models import Book, Seat
from reviews.rules.contract.plans import check_reach
from reviews.rules.payload_shapes import ChangeBookData, FromTo
from reviews.rules.states import Deed, Refused, Role

FACTS = ("title", "publisher", "final_on")


def change_book(
    book_id: int,
    *,
    title: str,
    publisher: str,
    final_on: date | None,
    reason: str = "",
    only: Collection[str] = FACTS,
    actor: Seat,
) -> Book:
    """Change the named facts of a book. Dates already planned stay; the forecast and the account look at the new day.

    Of the facts given, ``only`` these are changed: the others may have been changed meanwhile by somebody else.

    Raises:
        Refused: where nothing differs, the title is empty, the day is past, a moved day has no reason, or production
            would change more than the last day.
    """
    with deed_on(Book, book_id, Deed.CHANGE_BOOK, actor) as act:
        book = act.book
        wanted: dict[str, Any] = {"title": title.strip(), "publisher": publisher.strip(), "final_on": final_on}
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
        for name, (_, value) in changed.items():
            setattr(book, name, value)
        book.save(update_fields=list(changed))
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


def _written(value: date | str | None) -> str | None:
    return value.isoformat() if isinstance(value, date) else value
