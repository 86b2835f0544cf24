"""What happened on a book since somebody opened a page of it, as far as their seat may read it."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, timedelta

from django.db.models import QuerySet

from reviews.models import LedgerEntry, LetterAnswer, Looking, Passage, Seat
from reviews.rules import permits
from reviews.rules.states import Deed, Gate, Role

#: As many of the newest entries as are looked through; whoever was away for longer reads the page anew.
_MOST = 100
#: Whoever has not asked for so long does not look any more; an open page asks every half minute at the least.
LOOKS_FOR = timedelta(seconds=70)


def _readable(seat: Seat) -> QuerySet[LedgerEntry]:
    sights = permits.sights_of(Role(seat.role))
    return LedgerEntry.objects.filter(book=seat.book_id, sight__in=sights).order_by("-seq")


def newest_moment(seat: Seat) -> datetime | None:
    """Give the moment of the newest entry this seat may read (1 query): what it may not read moves nothing here.

    None for who reads no ledger.
    """
    if not permits.sights_of(Role(seat.role)):
        return None
    return _readable(seat).values_list("at", flat=True).first()


def others_entries(seat: Seat, deeds: Collection[Deed], *, since: datetime) -> list[LedgerEntry]:
    """List what others did since a moment, newest first, of what this seat may read (1 query)."""
    rows = _readable(seat).filter(deed__in=[deed.value for deed in deeds]).exclude(seat__person=seat.person_id)
    newest = rows.select_related("passage__spread", "passage__stage").defer("rows")[:_MOST]
    return [entry for entry in newest if entry.at > since]


def others_letter(passage: Passage, seat: Seat, *, since: datetime) -> LetterAnswer | None:
    """Find the newest letter that answered a passage since a moment, sent by somebody else (1 query)."""
    if not permits.sees(Role(seat.role), "letters"):
        return None
    sent = LetterAnswer.objects.filter(passage=passage, letter__sent_at__gt=since, letter__taken_back_at=None)
    others = sent.exclude(letter__sent_by__person=seat.person_id)
    return others.select_related("letter").order_by("-letter__number").first()


def looking_at(passage: Passage, *, at: datetime) -> list[Looking]:
    """List who has the table of a passage open, by name (1 query)."""
    rows = Looking.objects.filter(passage=passage, seen_at__gt=at - LOOKS_FOR, seat__ended_at=None)
    return list(rows.select_related("seat__person").order_by("seat__person__name", "pk"))


def told_of(looking: Collection[Looking], passage: Passage, seat: Seat) -> list[Seat]:
    """Keep the seats of which this one is told that they look too (no query; needs stage joined)."""
    role = Role(seat.role)
    if passage.stage.gate == Gate.HIDDEN and role != Role.ILLUSTRATOR:
        return []  # that somebody works at a stage of the studio stays in the studio
    return [
        row.seat
        for row in looking
        if row.seat.person_id != seat.person_id and permits.is_told_who_looks(role, Role(row.seat.role))
    ]
