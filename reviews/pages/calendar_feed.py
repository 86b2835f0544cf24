"""A person's calendar of due dates, found by the secret in its address."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from typing import NamedTuple

from django.conf import settings
from django.db.models import Count, Max, Q
from django.urls import reverse
from django.utils.crypto import constant_time_compare

from reviews.models import Book, CalendarLink, LedgerEntry, Person, Seat
from reviews.pages.calendar_text import feed_text
from reviews.queries.access import NotThere
from reviews.queries.reckoning import Reckoning, reckon, reckon_one
from reviews.rules import permits
from reviews.rules.due_events import FeedEvent, after_seats, events_of, gone_events
from reviews.rules.feed_pauses import pause_events
from reviews.rules.mailing import calendar_sides
from reviews.rules.payload_shapes import ChangeBookData
from reviews.rules.payloads import payload_of
from reviews.rules.states import Deed, Role, Side, Sight, in_a_sentence

CALENDAR_NAME = "Roughproof due dates"
#: Whoever holds the address reads the calendar, so nothing but titles and dates is in it.
DESCRIPTION = "Dates are as counted on the portal; the signed contract decides."

#: Whose own affairs a calendar's numbers count; the agent sees no hidden stage, and is not of the publisher's side.
_READERS = {Role.ILLUSTRATOR: Sight.ILLUSTRATOR, Role.AGENT: Sight.ALL}


class CalendarStopped(Exception):
    """The address was a calendar once; its owner stopped or replaced it."""


def live_link(person: Person) -> CalendarLink | None:
    """Find a person's calendar link (1 query)."""
    return CalendarLink.objects.filter(person=person, revoked_at=None).first()


def calendar_of(secret: str, now: datetime) -> str:
    """Write the calendar that a secret opens.

    6 queries, 1 for each book without entered terms, and 5 for each book on which the person's last seat ended.
    """
    link = _opened(secret)
    seats = _seats(link)
    events = [*_live(link, seats, now), *_ended(link, seats)]
    return feed_text(events, name=CALENDAR_NAME, description=DESCRIPTION)


def _live(link: CalendarLink, seats: Sequence[Seat], now: datetime) -> Iterator[FeedEvent]:
    """List what is due on the books on which a person has a seat."""
    live = [seat for seat in seats if seat.ended_at is None]
    reckoned = reckon([seat.book for seat in live], now) if live else {}
    changes = _changes([seat.book_id for seat in live], now)
    for seat in live:
        events = _events(link, seat, reckoned[seat.book_id], changes.get(seat.book_id, _Changes()))
        yield from after_seats(events, _n_ended(seats, seat))


def _ended(link: CalendarLink, seats: Sequence[Seat]) -> Iterator[FeedEvent]:
    """List what stood in the calendar when a person's last seat on a book ended; what came later is not told."""
    last = {seat.book_id: seat for seat in seats}
    for seat in last.values():
        if seat.ended_at is not None:
            changes = _changes([seat.book_id], seat.ended_at).get(seat.book_id, _Changes())
            events = _events(link, seat, reckon_one(seat.book, seat.ended_at), changes)
            yield from after_seats(events, _n_ended(seats, seat), ended_at=seat.ended_at)


def _events(link: CalendarLink, seat: Seat, found: Reckoning, changes: _Changes) -> list[FeedEvent]:
    role, names = Role(seat.role), _names(link, seat)
    reader = _READERS.get(role, Sight.PUBLISHER)
    sides = sorted(calendar_sides(role))
    url = settings.PUBLIC_ADDRESS + reverse("reviews:passage", args=[0]).replace("/0/", "/{passage}/")
    events = events_of(found.story, found.seen_by(role), sides, url=url, n_terms=changes.n, reader=reader, **names)
    if Side.ILLUSTRATOR in sides:
        n_terms = changes.n + found.statement.terms.version
        events += gone_events(found.story, found.today, n_terms=n_terms, reader=reader, **names)
    proposals_url = ""
    if permits.sees(role, "account"):
        proposals_url = settings.PUBLIC_ADDRESS + reverse("reviews:proposals", args=[seat.book_id])
    events += pause_events(found.story, found.today, url=proposals_url, n_changes=changes.n, **names)
    own = seat.book.stage_names
    events = [replace(one, stage_name=in_a_sentence(own.get(one.stage, ""))) for one in events]
    last_at = changes.last_at
    return events if last_at is None else [replace(one, changed_at=max(one.changed_at, last_at)) for one in events]


def _names(link: CalendarLink, seat: Seat) -> dict[str, str]:
    title = seat.book.title if seat.ended_at is None else _title_at(seat.book, seat.ended_at)
    return {"book_key": str(seat.book_id), "person_key": link.person_key, "title": title}


def _title_at(book: Book, until: datetime) -> str:
    """Give the title a book had at a moment, as the ledger tells of later changes (1 query)."""
    later = LedgerEntry.objects.filter(book=book, deed=Deed.CHANGE_BOOK, at__gt=until, data__changed__has_key="title")
    change = later.order_by("seq").first()
    return book.title if change is None else payload_of(change, ChangeBookData)["changed"]["title"]["from"] or ""


def _seats(link: CalendarLink) -> list[Seat]:
    """List every seat with dates to keep that the person ever had, in the order taken (1 query)."""
    seats = Seat.objects.filter(person_id=link.person_id).select_related("book").order_by("pk")
    return [seat for seat in seats if calendar_sides(Role(seat.role))]


class _Changes(NamedTuple):
    """How often every event of a book changed at once, and when it last did."""

    n: int = 0
    last_at: datetime | None = None


def _changes(book_ids: Sequence[int], until: datetime) -> dict[int, _Changes]:
    """Count by book how often every event changed at once, up to a moment: its terms, or what it is called (1 query).

    A title, a stage and pages stand in each summary, so that another one is another meaning of every event.
    """
    renamed = Q(deed=Deed.CHANGE_BOOK, data__changed__has_key="title") | Q(
        deed__in=(Deed.NAME_STAGES, Deed.MOVE_SPREADS, Deed.REPAGE)
    )
    rows = LedgerEntry.objects.filter(renamed | Q(terms_version__isnull=False), book_id__in=book_ids, at__lte=until)
    told = rows.order_by().values_list("book_id").annotate(Count("pk"), Max("at"))
    return {book_id: _Changes(n, last_at) for book_id, n, last_at in told}


def _n_ended(seats: Sequence[Seat], seat: Seat) -> int:
    return sum(one.book_id == seat.book_id and one.ended_at is not None for one in seats)


def _opened(secret: str) -> CalendarLink:
    number = secret.partition("-")[0]
    rows = CalendarLink.objects.select_related("person").filter(person__is_active=True)
    link = rows.filter(pk=int(number)).first() if number.isascii() and number.isdecimal() and len(number) < 19 else None
    if link is None or not constant_time_compare(secret, link.secret):
        raise NotThere
    if link.revoked_at is not None:
        raise CalendarStopped
    return link
