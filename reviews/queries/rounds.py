"""Rounds as the ledger tells them, for any number of books at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from reviews.models import Book, LedgerEntry, Passage
from reviews.rules.rounds import Allowance, RoundCount, count_rounds
from reviews.rules.states import Deed


def allowances_for(passages: Iterable[Passage]) -> dict[int, Allowance]:
    """Say what each passage's fee includes; needs ``stage`` joined. Stages of a group share rounds."""
    return {
        passage.pk: Allowance(pool=f"{passage.spread_id}/{passage.stage.pool_name}", included=passage.stage.rounds)
        for passage in passages
    }


def allowances_of(book: Book) -> dict[int, Allowance]:
    """The same for all passages of a book (1 query)."""
    return allowances_for(Passage.objects.live().select_related("stage").filter(book=book))


def rounds_of(book: Book, allowances: Mapping[int, Allowance]) -> dict[int, RoundCount]:
    """Count a book's rounds from its ledger (1 query)."""
    return rounds_in([book.pk], allowances)


def rounds_in(book_ids: Iterable[int], allowances: Mapping[int, Allowance]) -> dict[int, RoundCount]:
    """Count the rounds of several books from their ledgers (1 query whatever their number)."""
    rows = LedgerEntry.objects.filter(book_id__in=list(book_ids), deed=Deed.SEND_LETTER).order_by("book_id", "seq")
    return count_rounds((row.as_entry() for row in rows), allowances)
