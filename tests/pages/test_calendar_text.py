from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import icalendar
import vobject
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reviews.pages.calendar_text import etag_of, feed_text
from reviews.rules.due_events import FeedEvent, uid_for

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
EVENT = FeedEvent(
    uid=uid_for("book", 101, "hand-in", "person"),
    on=date(2026, 12, 9),
    title="Tansy",
    spread="Pages 4–5",
    stage="sketch",
    what="hand-in",
    sequence=0,
    changed_at=NOW,
    url="https://portal.example/books/1/passages/101/",
)


SUMMARY = "Tansy: Pages 4–5, sketch (hand-in)"
DESCRIPTION = "Dates are as counted here; the signed contract, and nothing else, decides.\nAsk if in doubt."
#: RFC 5545, 3.1: a line has at most 75 octets, without its line break.
LINE_OCTETS = 75


def text_of(*events, **more):
    return feed_text(events, **{"name": "Roughproof: Juniper Aldersea", "description": DESCRIPTION} | more)


def check_frame(text):
    """Lines end with CRLF, hold at most 75 octets, and no bare line break or control character is left."""
    assert text.endswith("\r\n")
    for line in text[:-2].split("\r\n"):
        assert 0 < len(line.encode()) <= LINE_OCTETS
        assert not any(c in line for c in "\r\n\x00\x0b")
        line.encode().decode()


def test_the_feed_passes_a_check_of_presence_and_number():
    calendar = vobject.readOne(text_of(EVENT, replace(EVENT, uid="another"), source="https://portal.example/feed.ics"))
    assert calendar.validate(raiseException=True)
    assert len(calendar.vevent_list) == 2


def test_the_feed_says_what_was_meant_to_another_reader():
    check_frame(text_of(EVENT))
    calendar = icalendar.Calendar.from_ical(text_of(EVENT))
    assert not calendar.errors
    assert calendar["VERSION"] == "2.0" and calendar["PRODID"]
    assert calendar["NAME"] == "Roughproof: Juniper Aldersea"
    assert calendar["REFRESH-INTERVAL"].dt == timedelta(hours=12)
    [event] = calendar.walk("VEVENT")
    assert not event.errors
    assert not [name for name in event.required if name not in event]
    assert event["DTSTART"].dt == date(2026, 12, 9)
    assert event["DTEND"].dt == date(2026, 12, 10)
    assert event["SUMMARY"] == SUMMARY
    assert event["DESCRIPTION"] == DESCRIPTION
    assert event["DTSTAMP"].dt == NOW
    assert (event["SEQUENCE"], event["STATUS"], event["TRANSP"]) == (0, "CONFIRMED", "TRANSPARENT")
    assert event["URL"] == EVENT.url


def test_a_moved_date_keeps_its_uid_and_counts_up():
    moved = replace(EVENT, on=date(2026, 12, 14), sequence=1, changed_at=NOW + timedelta(days=1))
    [before], [after] = (icalendar.Calendar.from_ical(text_of(event)).walk("VEVENT") for event in (EVENT, moved))
    assert before["UID"] == after["UID"]
    assert (before["SEQUENCE"], after["SEQUENCE"]) == (0, 1)
    assert etag_of(text_of(EVENT)) != etag_of(text_of(moved))


def test_a_date_that_is_met_is_cancelled():
    [event] = icalendar.Calendar.from_ical(text_of(replace(EVENT, is_cancelled=True, sequence=2))).walk("VEVENT")
    assert (event["STATUS"], event["SEQUENCE"]) == ("CANCELLED", 2)


def test_an_empty_feed_is_still_a_calendar():
    check_frame(text_of())
    assert icalendar.Calendar.from_ical(text_of()).walk("VEVENT") == []


def test_the_same_dates_in_any_order_give_the_same_bytes():
    other = replace(EVENT, uid="another")
    assert text_of(EVENT, other) == text_of(other, EVENT)
    assert etag_of(text_of(EVENT)) == etag_of(text_of(EVENT))


def test_moments_are_written_in_utc():
    elsewhere = NOW.astimezone(timezone(timedelta(hours=-5)))
    assert text_of(replace(EVENT, changed_at=elsewhere)) == text_of(EVENT)


def test_uids_tell_nothing_and_differ():
    uids = {uid_for(b, p, w, who) for b in "ab" for p in (1, 11) for w in ("hand-in", "answer") for who in ("x", "1x")}
    assert len(uids) == 16
    assert all("hand" not in uid and len(uid) == 36 for uid in uids)


def test_no_text_can_begin_a_line_of_its_own():
    wicked = replace(EVENT, title="x\r\nEND:VEVENT\r\nBEGIN:VALARM", url="https://a.example/\r\nATTACH:evil")
    calendar = icalendar.Calendar.from_ical(text_of(wicked))
    assert len(calendar.walk("VEVENT")) == 1
    assert calendar.walk("VALARM") == []
    assert "ATTACH" not in calendar.walk("VEVENT")[0]


def test_no_method_is_named_so_the_stamp_is_the_last_change():
    """RFC 5545, 3.8.7.2: with a METHOD, DTSTAMP would have to be the moment at which the text itself was made."""
    calendar = icalendar.Calendar.from_ical(text_of(EVENT))
    assert "METHOD" not in calendar
    [event] = calendar.walk("VEVENT")
    assert event["DTSTAMP"].dt == event["LAST-MODIFIED"].dt == EVENT.changed_at


words = st.text(st.characters(exclude_categories=("Cs",)), max_size=300)


@given(words, words, st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.integers(0, 99))
@example("\\N \\n \\, ; , \\; \\\\n", "\n,;\\", date(2026, 1, 1), 1)
@settings(max_examples=150)
def test_any_words_come_back_as_they_were(title, description, on, sequence):
    text = text_of(replace(EVENT, title=title, on=on, sequence=sequence), description=description)
    check_frame(text)
    [read] = icalendar.Calendar.from_ical(text).walk("VEVENT")
    # The writing library's own reader takes an escaped backslash before an N for the beginning of a line break.
    words = vobject.readOne(text).vevent
    assert words.summary.value == f"{shown(title)}: Pages 4–5, sketch (hand-in)"
    assert words.description.value == shown(description)
    assert (read["DTSTART"].dt, read["SEQUENCE"]) == (on, sequence)


def shown(text):
    """Leave out what no text value may hold."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(c for c in text if c in "\n\t" or (c >= " " and c != "\x7f"))
