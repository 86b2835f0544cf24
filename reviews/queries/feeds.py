"""A person's calendar of due dates, found by the secret in its address."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from django.conf import settings
from django.urls import reverse
from django.utils.crypto import constant_time_compare

from reviews.models import CalendarLink, Person
from reviews.queries.access import NotThere, live_seats
from reviews.queries.reckoning import reckon
from reviews.rules.due_events import due_events
from reviews.rules.feed import FeedEvent, feed
from reviews.rules.mailing import calendar_sides
from reviews.rules.states import Role

CALENDAR_NAME = "Roughproof due dates"
#: Whoever holds the address reads the calendar, so nothing but titles and dates is in it.
DESCRIPTION = "Dates are as counted on the portal; the signed contract decides."


def live_link(person: Person) -> CalendarLink | None:
    """Find a person's calendar link (1 query)."""
    return CalendarLink.objects.filter(person=person, revoked_at=None).first()


def calendar_of(secret: str, now: datetime) -> str:
    """Write the calendar that a secret opens (5 queries, and 1 for each book without entered terms)."""
    link = _opened(secret)
    seats = [seat for seat in live_seats(link.person).select_related("book") if calendar_sides(Role(seat.role))]
    reckoned = reckon([seat.book for seat in seats], now) if seats else {}
    events: list[FeedEvent] = []
    for seat in seats:
        found, role = reckoned[seat.book_id], Role(seat.role)
        events += due_events(
            found.story,
            found.seen_by(role),
            sorted(calendar_sides(role)),
            book_key=str(seat.book_id),
            person_key=link.person_key,
            title=seat.book.title,
            url=settings.PUBLIC_ADDRESS + reverse("reviews:passage", args=[0]).replace("/0/", "/{passage}/"),
        )
    return feed([replace(event, description=DESCRIPTION) for event in events], name=CALENDAR_NAME)


def _opened(secret: str) -> CalendarLink:
    number = secret.partition("-")[0]
    rows = CalendarLink.objects.select_related("person").filter(revoked_at=None, person__is_active=True)
    link = rows.filter(pk=int(number)).first() if number.isascii() and number.isdecimal() and len(number) < 19 else None
    if link is None or not constant_time_compare(secret, link.secret):
        raise NotThere
    return link
