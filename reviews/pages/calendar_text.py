"""A calendar feed of due dates as text: iCalendar (RFC 5545) with the properties of RFC 7986.

Each due date is an all-day event. Its UID never changes; SEQUENCE goes up when the date or its meaning changes; a
date that is met or has gone is sent as cancelled for a while, so that calendars which only add learn of it. The feed
names no METHOD: it is a calendar to look at, no message, and so DTSTAMP is the moment of the last change (3.8.7.2),
as LAST-MODIFIED is. The text depends on nothing but its arguments: the same dates give the same bytes, so an ETag can
be made from it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import UTC, timedelta

import icalendar

from reviews.pages.wording.feed import summary_words
from reviews.rules.due_events import FeedEvent

#: How often a calendar is asked to look again.
REFRESH = timedelta(hours=12)

PRODUCER = "-//Roughproof//Due dates//EN"


def feed_text(
    events: Iterable[FeedEvent], *, name: str, description: str = "", colour: str = "dimgray", source: str = ""
) -> str:
    """Write a calendar of due dates.

    ``description`` stands in each of them, ``colour`` is a CSS colour name, ``source`` the address it is fetched from.
    """
    calendar = icalendar.Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", PRODUCER)
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", _text(name))
    calendar.add("x-wr-calname", _text(name))
    calendar.add("color", colour)
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", REFRESH)
    if source:
        calendar.add("source", _address(source), parameters={"VALUE": "URI"})
    for event in sorted(events, key=lambda event: (event.on, event.uid)):
        calendar.add_component(_event(event, description))
    return calendar.to_ical().decode()


def etag_of(text: str) -> str:
    """Make the entity tag of a feed."""
    return f'"{hashlib.sha256(text.encode()).hexdigest()[:32]}"'


def _event(event: FeedEvent, description: str) -> icalendar.Event:
    written, changed_at = icalendar.Event(), event.changed_at.astimezone(UTC)
    written.add("uid", event.uid)
    written.add("dtstamp", changed_at)
    written.add("last-modified", changed_at)
    written.add("sequence", event.sequence)
    written.add("dtstart", event.on)
    # The end of an all-day event is the first day after it.
    written.add("dtend", (event.until or event.on) + timedelta(days=1))
    written.add("summary", _text(summary_words(event)))
    written.add("description", _text(description))
    if event.url:
        written.add("url", _address(event.url))
    written.add("status", "CANCELLED" if event.is_cancelled else "CONFIRMED")
    # A due date does not make anybody busy.
    written.add("transp", "TRANSPARENT")
    written.add("class", "PRIVATE")
    return written


class _Words(icalendar.vText):
    r"""Text as it was written: the library takes a "\N" that somebody typed for a line break."""

    def to_ical(self) -> bytes:
        return rb"\\N".join(icalendar.vText(part).to_ical() for part in str(self).split(r"\N"))


def _text(text: str) -> icalendar.vText:
    """Leave out control characters, which no text value may hold; the library escapes the rest."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return _Words("".join(c for c in text if c in "\n\t" or (c >= " " and c != "\x7f")))


def _address(url: str) -> str:
    """Keep an address on one line: a line break in it would begin a property of its own."""
    return "".join(c for c in url if c > " " and c != "\x7f")
