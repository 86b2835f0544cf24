"""The statement of a book: its ledger and its terms handed to the rules, for a page, a paper or an export."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from reviews.models import Book, LedgerEntry, Spread
from reviews.queries.line_names import names_of
from reviews.queries.terms import history_of, part_for
from reviews.rules.contract.recount import export
from reviews.rules.contract.timeline import READ_DEEDS, SpreadFacts, Story, tell
from reviews.rules.entries import Entry
from reviews.rules.states import Refused, Role


def entries_of(book_ids: Iterable[int], *, also: Iterable[str] = ()) -> dict[int, list[Entry]]:
    """Read the entries that rounds, days, dates and money are worked out from, by book (1 query).

    Notes, drafts and weighings change no figure and are left unread, but for the deeds named as ``also``.
    """
    deeds = (*READ_DEEDS, *also)
    entries = LedgerEntry.objects.filter(book_id__in=list(book_ids), deed__in=deeds)
    rows = entries.defer("rows").order_by("book_id", "seq")
    found: dict[int, list[Entry]] = {}
    for row in rows:
        found.setdefault(row.book_id, []).append(row.as_entry())
    return found


def facts_of(book_ids: Iterable[int]) -> dict[int, SpreadFacts]:
    """Name every spread these books have or had, and the part of the terms that speaks of it (1 query)."""
    return facts_in(Spread.objects.filter(book_id__in=list(book_ids)))


def facts_in(spreads: Iterable[Spread]) -> dict[int, SpreadFacts]:
    """Name spreads that were read already (no query)."""
    return {row.pk: SpreadFacts(row.pk, row.position, row.label, part_for(row)) for row in spreads}


def story_of(book: Book, *, until: datetime | None = None) -> Story:
    """Tell what happened to every passage of a book (2 queries)."""
    return tell(entries_of([book.pk]).get(book.pk, ()), facts_of([book.pk]), until=until)


def export_of(book: Book, as_of: date | None, *, at: datetime) -> dict[str, Any]:
    """Write a book's ledger, terms and figures as one recountable file (4 queries, 5 where terms are implied).

    The figures cite entries by their place in the chain; ``lines`` says which of them are numbered lines of the ledger
    that both sides read, and how.
    """
    history = history_of(book)
    today = history.on(book.day_rule.local_date(at)).day_rule.local_date(at)
    if as_of is not None and as_of > today:
        raise Refused("statement-day")
    facts = facts_of([book.pk])
    entries = entries_of([book.pk]).get(book.pk, [])
    file = export(book.title, as_of or today, book.final_on, facts.values(), history, entries)
    names = names_of(book.pk, Role.AGENT)  # the agent reads what both sides read, and nothing else
    return file | {"lines": {str(entry.seq): names[entry.seq] for entry in entries if entry.seq in names}}
