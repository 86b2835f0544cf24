"""A book's account at the end of a day, drawn up from its own rows."""

from __future__ import annotations

from datetime import date

from reviews.models import Book
from reviews.queries.statement import entries_of, facts_of
from reviews.queries.terms import history_of
from reviews.rules.contract.statement import Statement, draw_up


def statement_of(book: Book, as_of: date) -> Statement:
    entries = entries_of([book.pk]).get(book.pk, ())
    return draw_up(entries, history_of(book), as_of, facts_of([book.pk]), final_on=book.final_on)
