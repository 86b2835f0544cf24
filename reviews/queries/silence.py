"""Which books let silence approve, and what that asks of the portal now."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date, datetime

from django.core.cache import cache

from reviews.models import Book, Passage, TermsVersion
from reviews.queries.reckoning import reckon, reckon_one
from reviews.queries.statement import entries_of, facts_in
from reviews.queries.stoppers import held_by_stoppers
from reviews.queries.terms import history_told
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.silence import Silence, silences
from reviews.rules.contract.timeline import tell
from reviews.rules.contract.turns import all_turns
from reviews.rules.entries import Entry
from reviews.rules.mailing import MORNING_HOUR
from reviews.rules.states import PassageState


def silences_now(now: datetime) -> list[Silence]:
    """List the hand-ins that silence concerns this morning in every book (1 query where no terms let it approve)."""
    books = [book for book in _books() if now.astimezone(book.day_rule.zone_info).hour >= MORNING_HOUR]
    return [one for found in reckon(books, now).values() for one in silences(found.statement)] if books else []


def silence_of(book: Book, passage_id: int, now: datetime) -> Silence | None:
    """Say what silence asks of the portal for one passage (3 queries)."""
    found = silences(reckon_one(book, now).statement)
    return next((one for one in found if one.passage == passage_id), None)


def silent_days(book: Book, entries: Iterable[Entry], waiting: Collection[Passage], now: datetime) -> dict[int, date]:
    """Name, by passage, the day with whose end silence approves what waits there.

    Needs the ledger (no query, but for proofs at most 3). A proof that an open stopper holds up has no such day.
    """
    days = _told_days(book, entries, waiting, now)
    held = held_by_stoppers([passage for passage in waiting if passage.pk in days])
    return {passage: day for passage, day in days.items() if passage not in held}


def _told_days(book: Book, entries: Iterable[Entry], waiting: Collection[Passage], now: datetime) -> dict[int, date]:
    """Name the days that the terms and the ledger tell, whatever holds a proof up (no query)."""
    entries = list(entries)
    history = history_told(entries)
    if history is None or not any(version.lets_silence_approve for version in history.versions):
        return {}
    as_of = book.day_rule.local_date(now)
    known = history.known_on(as_of)
    story = tell(entries, facts_in(passage.spread for passage in waiting))
    turns = all_turns(story, Receipts(known, story.told_by, story.pauses), as_of)
    days = {passage: own[-1].silence_on for passage, own in turns.items() if own}
    return {passage: day for passage, day in days.items() if day is not None}


def silent_day(passage: Passage, now: datetime, *, is_held: bool | None = None) -> date | None:
    """Say the same of one passage; needs its places joined. ``is_held``: whether a stopper holds it up, where known.

    No query where none are entered that let silence approve, as far as the passage knows (``access.get_passage``; else
    1 to find out), else 1 once for each head of the ledger, and at a proof of which that is not known at most 3 more.
    """
    book = passage.book
    if passage.state != PassageState.ANSWERING or passage.pending_id:
        return None
    # Every version entered says on the book how it counts days: without one there are no terms to ask.
    if not book.day_counts or not _lets_silence_approve(passage):
        return None
    day = _kept_day(passage, now)
    if day is None or is_held or (is_held is None and held_by_stoppers([passage])):
        return None
    return day


def _kept_day(passage: Passage, now: datetime) -> date | None:
    """Take the day kept under the ledger's last hash: the same ledger tells the same day, until the date changes."""
    book = passage.book
    key = f"silent-day-1/{passage.pk}/{passage.ledger_head}/{book.day_rule.local_date(now)}"
    kept = cache.get(key) if passage.ledger_head is not None else None
    if kept is None:
        kept = _told_days(book, entries_of([book.pk]).get(book.pk, ()), [passage], now)
        if passage.ledger_head is not None:
            cache.set(key, kept)
    return kept.get(passage.pk)


def _lets_silence_approve(passage: Passage) -> bool:
    if passage.lets_silence_approve is not None:
        return passage.lets_silence_approve
    return TermsVersion.objects.that_let_silence_approve().filter(book=passage.book_id).exists()


def _books() -> list[Book]:
    """Find the books that wait for an answer and have had terms by which silence approves (1 query)."""
    silent = TermsVersion.objects.that_let_silence_approve().values("book")
    waiting = Passage.objects.filter(state=PassageState.ANSWERING, pending=None).values("book")
    return list(Book.objects.filter(pk__in=silent).filter(pk__in=waiting).order_by("pk"))
