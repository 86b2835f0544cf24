"""Take what the rows of an older book say into its ledger, so that from now on a change to them is found."""

from __future__ import annotations

from reviews.actions._deed import deed_on
from reviews.models import Book
from reviews.queries.held_check import check_held
from reviews.queries.held_rows import KINDS
from reviews.rules.portal_payloads import HoldRowsData
from reviews.rules.states import Deed


def hold_what_stands(book_id: int) -> bool:
    """Hold every row of a book that no entry holds yet, in one entry of the portal's own; say whether there was any.

    It vouches for nothing that was changed before: the lines up to here hold no words.
    """
    with deed_on(Book, book_id, Deed.HOLD_ROWS, None) as act:
        if not check_held(act.book).unheld:
            act.void()
            return False
        for kind in KINDS.values():
            rows = kind.model._default_manager.filter(**{kind.book: book_id})
            act.holds(*(rows if kind.about is None else rows.filter(kind.about)))
        act.record(HoldRowsData())
    return True
