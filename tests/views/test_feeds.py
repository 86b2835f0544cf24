"""The calendar feed: open to whoever has the address, and nobody else; only titles and dates in it."""

from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest
import vobject
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from reviews.actions.book_facts import change_book
from reviews.actions.clock import as_if_at
from reviews.actions.feeds import make_calendar_link, revoke_calendar_link
from reviews.actions.layout import change_plan
from reviews.actions.seats import end_seat, invite, take_seat
from reviews.actions.second_voice import agree, object_to
from reviews.models import CalendarLink, HandIn, Stage
from reviews.rules.states import Role
from tests.agreed import move_due_date
from tests.cast import gather, sign_in
from tests.makers import SHORT_PLAN, a_book, handed_in

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 4, 12, tzinfo=UTC)


@pytest.fixture
def cast(monkeypatch):
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        cast = gather(a_book(title="The Otter Who Kept Time; or, a Very Long and Winding Title of Many Wörds"))
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return cast


def address_of(person) -> str:
    return reverse("reviews:calendar-feed", args=[make_calendar_link(person).secret])


def events(response) -> dict[str, icalendar.Event]:
    calendar = icalendar.Calendar.from_ical(response.content)
    return {str(event["UID"]): event for event in calendar.walk("VEVENT")}


def test_it_opens_without_signing_in_and_two_readers_agree_on_it(cast):
    response = Client().get(address_of(cast.illustrator.person))
    assert response.status_code == 200
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    first = events(response)
    second = {str(event.uid.value): event for event in vobject.readOne(response.content.decode()).vevent_list}
    assert set(first) == set(second)
    assert len(first) > 20
    for uid, event in first.items():
        assert event["DTSTART"].dt == second[uid].dtstart.value
        assert type(event["DTSTART"].dt) is date  # all day
        assert event["DTEND"].dt - event["DTSTART"].dt == timedelta(days=1)
        assert str(event["SUMMARY"]) == second[uid].summary.value
    assert {str(event["STATUS"]) for event in first.values()} == {"CONFIRMED"}


def test_lines_are_folded_and_end_as_they_must(cast):
    body = Client().get(address_of(cast.illustrator.person)).content
    assert body.endswith(b"END:VCALENDAR\r\n")
    for line in body.split(b"\r\n"):
        assert len(line) <= 75
        assert b"\n" not in line
        line.decode()  # no letter is cut in two
    assert any(line.startswith(b" ") for line in body.split(b"\r\n"))


def test_nothing_but_titles_and_dates_is_in_it(cast):
    with as_if_at(NOW):
        passage = cast.passage("Pages 4–5", "ideas")
        move_due_date(passage.pk, to=date(2026, 11, 20), reason="owl-secret-reason", actor=cast.illustrator)
    body = Client().get(address_of(cast.agent.person)).content.decode()
    assert "owl-secret" not in body
    for person in (cast.agent.person, cast.illustrator.person, cast.art_director.person):
        assert person.name not in body
        assert person.email not in body
    assert "Rounds" not in body


def test_an_unchanged_calendar_is_not_sent_again(cast):
    address, client = address_of(cast.illustrator.person), Client()
    etag = client.get(address)["ETag"]
    again = client.get(address, headers={"If-None-Match": etag})
    assert again.status_code == 304
    assert again.content == b""
    assert again["ETag"] == etag
    with as_if_at(NOW):
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    changed = client.get(address, headers={"If-None-Match": etag})
    assert changed.status_code == 200
    assert changed["ETag"] != etag


def test_a_date_that_moves_keeps_its_uid_and_counts_up(cast):
    address, client = address_of(cast.illustrator.person), Client()
    before = events(client.get(address))
    passage = cast.passage("Pages 4–5", "ideas")
    with as_if_at(NOW):
        move_due_date(passage.pk, to=date(2026, 11, 20), reason="Flu.", actor=cast.illustrator)
    after = events(client.get(address))
    assert set(before) == set(after)
    moved = [uid for uid in before if before[uid]["DTSTART"].dt != after[uid]["DTSTART"].dt]
    assert len(moved) == 1
    assert after[moved[0]]["DTSTART"].dt == date(2026, 11, 20)
    assert after[moved[0]]["SEQUENCE"] > before[moved[0]]["SEQUENCE"]
    assert str(after[moved[0]]["URL"]).endswith(reverse("reviews:passage", args=[passage.pk]))


def test_what_the_editor_says_before_an_approval_moves_no_byte_of_the_other_sides_calendar(cast):
    """A number that went up, or a moment, would tell the illustrator that somebody had said something."""
    passage = cast.passage("Pages 4–5", "ideas")
    Stage.objects.filter(pk=passage.stage_id).update(two_voices=True)
    with as_if_at(NOW - timedelta(minutes=30)):
        handed_in(passage, cast.illustrator)
    theirs = [address_of(seat.person) for seat in (cast.illustrator, cast.agent)]
    ours = address_of(cast.art_director.person)
    hand_in = HandIn.objects.get(passage=passage)
    deeds = [lambda: agree(hand_in.pk, actor=cast.editor), lambda: object_to(hand_in.pk, "No.", actor=cast.editor)]
    for minutes, deed in zip((20, 10), deeds, strict=True):
        before, [own] = [Client().get(address).content for address in theirs], events(Client().get(ours)).values()
        with as_if_at(NOW - timedelta(minutes=minutes)):
            deed()
        assert [Client().get(address).content for address in theirs] == before
        # The publisher's own calendar may count it, so what was looked at above had been there to be seen.
        [now] = events(Client().get(ours)).values()
        assert now["SEQUENCE"] > own["SEQUENCE"]


def test_what_is_met_is_cancelled_and_what_is_asked_for_stands_with_the_other_side(cast):
    mine, theirs = address_of(cast.illustrator.person), address_of(cast.art_director.person)
    assert events(Client().get(theirs)) == {}
    with as_if_at(NOW):
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    statuses = [str(event["STATUS"]) for event in events(Client().get(mine)).values()]
    assert statuses.count("CANCELLED") == 1
    [answer] = events(Client().get(theirs)).values()
    assert (str(answer["STATUS"]), answer["DTSTART"].dt) == ("CONFIRMED", date(2026, 11, 9))


def test_stages_the_publisher_does_not_see_are_in_the_illustrators_calendar_only(cast):
    assert b"\\, ink (" in Client().get(address_of(cast.illustrator.person)).content.replace(b"\r\n ", b"")
    assert b"\\, ink (" not in Client().get(address_of(cast.agent.person)).content.replace(b"\r\n ", b"")


def test_a_revoked_address_says_that_it_is_gone_and_a_made_up_one_opens_nothing(cast):
    person = cast.illustrator.person
    old = address_of(person)
    new = address_of(person)
    gone = Client().get(old)
    assert gone.status_code == 410
    assert "was stopped, or given a new address" in gone.content.decode()
    assert "BEGIN" not in gone.content.decode()
    assert Client().get(new).status_code == 200
    assert CalendarLink.objects.filter(person=person, revoked_at=None).count() == 1
    revoke_calendar_link(person)
    assert Client().get(new).status_code == 410
    live = address_of(person)
    other_end = live.split("/")[-1][:-5] + ("1" if live[-5] == "0" else "0")
    for made_up in ("1-00", "x", "-", f"{10**20}-a", "²-a", other_end):
        assert Client().get(f"/calendar/{made_up}.ics").status_code == 404


def test_a_stage_that_was_taken_away_is_cancelled(cast):
    address, client = address_of(cast.agent.person), Client()
    before = events(client.get(address))
    plan = cast.passage("Pages 4–5", "line").spread.plan
    with as_if_at(NOW):
        change_plan(plan.pk, [stage for stage in SHORT_PLAN if stage.kind != "line"], actor=cast.art_director)
    after = events(client.get(address))
    assert set(after) == set(before)
    lines = [uid for uid, event in before.items() if ", line (" in event["SUMMARY"] and "Cover" not in event["SUMMARY"]]
    assert len(lines) == 7
    for uid in after:
        assert str(after[uid]["STATUS"]) == ("CANCELLED" if uid in lines else "CONFIRMED")
    assert all(after[uid]["SEQUENCE"] > before[uid]["SEQUENCE"] for uid in lines)
    assert all(after[uid]["DTSTART"].dt == before[uid]["DTSTART"].dt for uid in lines)


def test_the_dates_of_a_seat_that_ended_are_cancelled_and_stay_so(cast):
    """Both readers: a calendar that only adds would keep them for ever, were they merely left out."""
    address, client = address_of(cast.agent.person), Client()
    before = events(client.get(address))
    with as_if_at(NOW):
        end_seat(cast.agent.pk, actor=cast.illustrator)
    response = client.get(address)
    after = events(response)
    assert set(after) == set(before)
    second = {str(event.uid.value): event for event in vobject.readOne(response.content.decode()).vevent_list}
    for uid, event in after.items():
        assert str(event["STATUS"]) == second[uid].status.value == "CANCELLED"
        assert event["SEQUENCE"] == int(second[uid].sequence.value) == before[uid]["SEQUENCE"] + 1
        assert event["DTSTART"].dt == second[uid].dtstart.value == before[uid]["DTSTART"].dt
        assert event["LAST-MODIFIED"].dt == NOW
        assert "URL" not in event
    assert client.get(address, headers={"If-None-Match": response["ETag"]}).status_code == 304


def test_what_happens_after_a_seat_ended_is_not_told_to_it(cast, monkeypatch):
    address, client = address_of(cast.agent.person), Client()
    with as_if_at(NOW):
        end_seat(cast.agent.pk, actor=cast.illustrator)
    ended = client.get(address).content
    later = NOW + timedelta(days=9)
    monkeypatch.setattr(timezone, "now", lambda: later)
    with as_if_at(later):
        passage = cast.passage("Pages 4–5", "ideas")
        move_due_date(passage.pk, to=date(2026, 12, 9), reason="Flu.", actor=cast.illustrator)
        for title in ("The Clockmaker’s Otter", "Once More Another"):
            change_book(cast.book.pk, title=title, publisher="", final_on=None, actor=cast.art_director)
    assert client.get(address).content == ended


def test_a_seat_taken_anew_brings_its_dates_back(cast):
    address, client = address_of(cast.agent.person), Client()
    with as_if_at(NOW):
        end_seat(cast.agent.pk, actor=cast.illustrator)
    ended = events(client.get(address))
    person = cast.agent.person
    with as_if_at(NOW):
        invitation = invite(cast.book.pk, email=person.email, name=person.name, role=Role.AGENT, actor=cast.illustrator)
        take_seat(invitation.secret, person=person)
    again = events(client.get(address))
    assert set(again) == set(ended)
    assert {str(event["STATUS"]) for event in again.values()} == {"CONFIRMED"}
    assert all(again[uid]["SEQUENCE"] > ended[uid]["SEQUENCE"] for uid in again)


def test_a_guest_has_no_dates_of_their_own(cast):
    guest = cast.invite_guest(cast.passage("Cover", "ideas"))
    response = Client().get(address_of(guest.person))
    assert response.status_code == 200
    assert events(response) == {}


def test_the_feed_is_not_posted_to(cast):
    assert Client().post(address_of(cast.illustrator.person)).status_code == 405


def test_the_queries_do_not_grow_with_the_events(cast, django_assert_max_num_queries):
    address = address_of(cast.illustrator.person)
    with django_assert_max_num_queries(7):
        Client().get(address)


def test_the_address_is_made_renewed_and_revoked_on_ones_own_page(client, cast):
    sign_in(client, cast.illustrator.person)
    page = reverse("reviews:own-page")
    assert "Make my calendar address" in client.get(page).content.decode()
    client.post(reverse("reviews:new-calendar-link"))
    secret = CalendarLink.objects.get(revoked_at=None).secret
    assert f"http://testserver/calendar/{secret}.ics" in client.get(page).content.decode()
    client.post(reverse("reviews:new-calendar-link"))
    assert secret not in client.get(page).content.decode()
    client.post(reverse("reviews:revoke-calendar-link"))
    assert not CalendarLink.objects.filter(revoked_at=None).exists()


def test_the_database_alone_does_not_tell_the_address(cast, settings):
    link = make_calendar_link(cast.illustrator.person)
    secret = link.secret
    settings.SECRET_KEY = "another key"
    assert link.secret != secret


def test_a_new_title_counts_every_event_up_and_keeps_its_day(cast):
    """The title stands in each summary; a publisher or a last day that changes does not."""
    address, client = address_of(cast.illustrator.person), Client()
    before = events(client.get(address))
    facts = {"title": "The Otter Who Lost Time", "publisher": "Another House", "final_on": None}
    with as_if_at(NOW):
        change_book(cast.book.pk, **facts, only=["publisher"], actor=cast.art_director)
    same = events(client.get(address))
    assert all(same[uid]["SEQUENCE"] == before[uid]["SEQUENCE"] for uid in before)
    with as_if_at(NOW):
        change_book(cast.book.pk, **facts, only=["title"], actor=cast.art_director)
    after = events(client.get(address))
    assert set(after) == set(before)
    for uid, event in after.items():
        assert event["SUMMARY"] != before[uid]["SUMMARY"]
        assert event["DTSTART"].dt == before[uid]["DTSTART"].dt
        assert event["SEQUENCE"] > before[uid]["SEQUENCE"]
