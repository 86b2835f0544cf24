"""Who is asked about which spreads, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, F, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce

from reviews.models import Book, Look, Note, Person, ReadingAsk, Seat, Spread
from reviews.queries.access import NotThere, get_book
from reviews.rules.states import READERS, Deed, NoteState


@dataclass(frozen=True)
class OpenAsk:
    """One ask that stands: how many notes its reader wrote on the spread since, and which hand-in they last looked at
    without one."""

    ask: ReadingAsk
    n_notes: int
    looked_at: int | None


def asks_of(book: Book) -> list[OpenAsk]:
    """List the asks of a book that stand, by reader and in page order (1 query)."""
    notes = (
        Note.objects.filter(author=OuterRef("seat"), passage__spread=OuterRef("spread"), made_at__gte=OuterRef("at"))
        .exclude(state__in=(NoteState.WITHDRAWN, NoteState.TAKEN_BACK))
        .order_by()
        .values("author")
        .annotate(n=Count("pk"))
        .values("n")
    )
    looks = (
        Look.objects.filter(seat=OuterRef("seat"), hand_in__passage__spread=OuterRef("spread"), at__gte=OuterRef("at"))
        .order_by("-at")
        .values("hand_in__number")[:1]
    )
    rows = (
        ReadingAsk.objects.select_related("seat__person", "spread", "asked_by__person")
        .filter(book=book, ended_at=None, seat__ended_at=None, spread__removed_at=None)
        # It fills what the model only names.
        .annotate(n_notes=Coalesce(Subquery(notes), 0), looked_at=Subquery(looks))  # type: ignore[no-redef]
        .order_by(F("seat__person__name"), "seat", "spread__position")
    )
    return [OpenAsk(row, row.n_notes, row.looked_at) for row in rows]


def asked_of(seat: Seat, spread_id: int) -> ReadingAsk | None:
    """Find what a seat is asked about a spread (1 query)."""
    asks = ReadingAsk.objects.select_related("asked_by__person")
    return asks.filter(seat=seat, spread=spread_id, ended_at=None).first()


def readers_of(book: Book) -> list[Seat]:
    """List who can be asked: authors and expert readers with a seat (1 query)."""
    rows = Seat.objects.select_related("person").filter(Q(role__in=READERS), book=book, ended_at=None)
    return list(rows.order_by("person__name", "pk"))


def readers_among(seats: Iterable[Seat]) -> list[Seat]:
    """Pick from seats already read, with their persons, those who can be asked."""
    found = [seat for seat in seats if seat.role in READERS and seat.ended_at is None]
    return sorted(found, key=lambda seat: (seat.person.name, seat.pk))


def spreads_of(book: Book) -> list[Spread]:
    """List the spreads that can be asked about, in page order (1 query)."""
    return list(Spread.objects.filter(book=book, removed_at=None).order_by("position"))


def get_ask(person: Person, ask_id: int, *, deed: Deed) -> tuple[ReadingAsk, Seat]:
    """Fetch an ask for a deed (2 queries)."""
    ask = ReadingAsk.objects.select_related("seat__person", "spread").filter(pk=ask_id).first()
    if ask is None:
        raise NotThere
    ask.book, seat = get_book(person, ask.book_id, deed=deed)
    return ask, seat
