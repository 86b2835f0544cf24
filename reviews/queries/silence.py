"""Which books let silence approve, and what that asks of the portal now."""

from __future__ import annotations

from datetime import datetime

from reviews.models import Book, Passage, TermsVersion
from reviews.queries.reckoning import reckon, reckon_one
from reviews.rules.mailing import MORNING_HOUR
from reviews.rules.silence import Silence, silences
from reviews.rules.states import PassageState


def silences_now(now: datetime) -> list[Silence]:
    """List the hand-ins that silence concerns this morning in every book (1 query where no terms let it approve)."""
    books = [book for book in _books() if now.astimezone(book.day_rule.zone_info).hour >= MORNING_HOUR]
    return [one for found in reckon(books, now).values() for one in silences(found.drawn)] if books else []


def silence_of(book: Book, passage_id: int, now: datetime) -> Silence | None:
    """Say what silence asks of the portal for one passage (3 queries)."""
    found = silences(reckon_one(book, now).drawn)
    return next((one for one in found if one.passage == passage_id), None)


def _books() -> list[Book]:
    """Find the books that wait for an answer and have had terms by which silence approves (1 query)."""
    silent = TermsVersion.objects.exclude(text__silence_approves_after=None).values("book")
    waiting = Passage.objects.filter(state=PassageState.ANSWERING, pending=None).values("book")
    return list(Book.objects.filter(pk__in=silent).filter(pk__in=waiting).order_by("pk"))
