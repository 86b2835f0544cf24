"""A calendar feed of due dates as text: iCalendar (RFC 5545) with the properties of RFC 7986.

Each due date is an all-day event. Its UID never changes; SEQUENCE goes up when the date or its meaning changes; a
date that is met or has gone is sent as cancelled for a while, so that calendars which only add learn of it. The
text depends on nothing but its arguments: the same dates give the same bytes, so an ETag can be made from it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

#: RFC 5545, 3.1: a line has at most 75 octets, without its line break.
LINE_OCTETS = 75

#: How often a calendar is asked to look again.
REFRESH_HOURS = 12

PRODUCER = "-//Roughproof//Due dates//EN"


@dataclass(frozen=True, kw_only=True)
class FeedEvent:
    """One due date as a calendar shows it.

    uid         the same for ever, and free of anything personal (RFC 7986, 5.3)
    sequence    0 at first, one more at every change of date or meaning
    changed_at  when it last changed; aware
    """

    uid: str
    on: date
    summary: str
    description: str
    sequence: int
    changed_at: datetime
    is_cancelled: bool = False
    url: str = ""


def uid_for(book_key: str, passage: int, what: str, person_key: str) -> str:
    """Make the UID of a due date: a digest, so that it tells nothing about people or books."""
    digest = hashlib.sha256(f"{book_key}\n{passage}\n{what}\n{person_key}".encode()).hexdigest()[:32]
    return f"{digest[:8]}-{digest[8:12]}-{digest[12:16]}-{digest[16:20]}-{digest[20:]}"


def feed(events: Iterable[FeedEvent], *, name: str, colour: str = "dimgray", source: str = "") -> str:
    """Write a calendar of due dates; `colour` is a CSS colour name, `source` the address it is fetched from."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCER}",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"NAME:{escaped(name)}",
        f"X-WR-CALNAME:{escaped(name)}",
        f"COLOR:{colour}",
        f"REFRESH-INTERVAL;VALUE=DURATION:PT{REFRESH_HOURS}H",
        f"X-PUBLISHED-TTL:PT{REFRESH_HOURS}H",
        *([f"SOURCE;VALUE=URI:{_address(source)}"] if source else []),
    ]
    for event in sorted(events, key=lambda event: (event.on, event.uid)):
        lines += _event(event)
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in folded(line))


def etag_of(text: str) -> str:
    """Make the entity tag of a feed."""
    return f'"{hashlib.sha256(text.encode()).hexdigest()[:32]}"'


def _event(event: FeedEvent) -> list[str]:
    changed = event.changed_at.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    return [
        "BEGIN:VEVENT",
        f"UID:{escaped(event.uid)}",
        f"DTSTAMP:{changed}",
        f"LAST-MODIFIED:{changed}",
        f"SEQUENCE:{event.sequence}",
        f"DTSTART;VALUE=DATE:{event.on:%Y%m%d}",
        # The end of an all-day event is the first day after it.
        f"DTEND;VALUE=DATE:{event.on + timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{escaped(event.summary)}",
        f"DESCRIPTION:{escaped(event.description)}",
        *([f"URL:{_address(event.url)}"] if event.url else []),
        f"STATUS:{'CANCELLED' if event.is_cancelled else 'CONFIRMED'}",
        # A due date does not make anybody busy.
        "TRANSP:TRANSPARENT",
        "CLASS:PRIVATE",
        "END:VEVENT",
    ]


def escaped(text: str) -> str:
    """Escape a text value: backslash, semicolon, comma and line breaks; other control characters are left out."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    text = "".join(c for c in text if c == "\n" or c == "\t" or (c >= " " and c != "\x7f"))
    return text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def _address(url: str) -> str:
    """Keep an address on one line: a line break in it would begin a property of its own."""
    return "".join(c for c in url if c > " " and c != "\x7f")


def folded(line: str) -> Iterator[str]:
    """Cut a line into pieces of at most 75 octets, never inside a character; the later ones begin with a space."""
    piece, room = "", LINE_OCTETS
    for character in line:
        octets = len(character.encode())
        if octets > room:
            yield piece
            piece, room = " ", LINE_OCTETS - 1
        piece += character
        room -= octets
    yield piece
