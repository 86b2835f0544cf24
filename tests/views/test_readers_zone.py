"""Plain times by the reader's own clock; every date that the count uses where the book is counted, whoever reads."""

from __future__ import annotations

from datetime import UTC, datetime
from unittest.mock import patch

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from reviews.actions import notes
from reviews.actions.clock import as_if_at
from reviews.actions.own_account import choose_zone
from reviews.models import Book, Person
from tests.cast import PASSWORD, Cast, gather, sign_in
from tests.letter_scene import answered, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

#: Half past eleven in the evening of Tuesday 3 November 2026 in London, half past eight on Wednesday in Tokyo.
LATE = datetime(2026, 11, 3, 23, 30, tzinfo=UTC)
NOW = datetime(2026, 11, 4, 12, tzinfo=UTC)
BOX = {"kind": "box", "points": [[0.1, 0.1], [0.4, 0.5]]}


@pytest.fixture
def cast() -> Cast:
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        made = gather(a_book(zone="Europe/London"))
    assert made.book.zone == "Europe/London"
    with as_if_at(LATE):
        passage = made.passage("Pages 4–5", "ideas")
        handed = handed_in(passage, made.illustrator)
        passage.refresh_from_db()
        note = notes.pin_note(
            passage.pk, handed.pictures.first().pk, region=BOX, words="Wider?", cause="question", actor=made.editor
        )
        notes.reply(note.pk, "As wide as the tarn.", actor=made.art_director)
    return made


def page(person: Person, name: str, *values: int) -> str:
    client = Client()
    sign_in(client, person)
    with patch("django.utils.timezone.now", return_value=NOW):
        response = client.get(reverse(f"reviews:{name}", args=values))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def test_a_ledger_line_tells_the_books_hour_and_the_readers_where_it_differs(cast):
    choose_zone(cast.illustrator.person, "Asia/Tokyo")
    read = page(cast.illustrator.person, "ledger", cast.book.pk)
    assert "Tuesday, 3 November 2026" in read
    assert "Wednesday, 4 November 2026" not in read
    assert ">23:30</time>" in read
    assert "08:30 on 4 November by your clock" in read
    choose_zone(cast.illustrator.person, "Europe/Lisbon")  # the same hour all year: nothing to add
    assert "by your clock" not in page(cast.illustrator.person, "ledger", cast.book.pk).split("<ol")[1]


def test_whoever_told_no_zone_reads_the_clock_of_the_book(cast):
    Book.objects.filter(pk=cast.book.pk).update(zone="America/New_York")
    read = page(cast.illustrator.person, "ledger", cast.book.pk)
    assert ">18:30</time>" in read
    assert "by your clock" not in read.split("<ol")[1]


@pytest.mark.parametrize(
    ("zone", "told"), [("Asia/Tokyo", "4 Nov, 08:30"), ("America/New_York", "3 Nov, 18:30"), ("", "3 Nov, 23:30")]
)
def test_a_message_was_written_when_the_readers_clock_said_so(cast, zone, told):
    choose_zone(cast.art_director.person, zone)
    assert told in page(cast.art_director.person, "passage", cast.passage("Pages 4–5", "ideas").pk)


@pytest.mark.parametrize("zone", ["Asia/Tokyo", "America/New_York", ""])
def test_dates_that_the_count_uses_are_the_books_for_every_reader(cast, zone):
    with as_if_at(LATE):
        answered(cast, cast.passage("Pages 4–5", "ideas"), "approve")
        sent(cast)
    choose_zone(cast.illustrator.person, zone)
    letters = page(cast.illustrator.person, "letters", cast.book.pk)
    assert "3 November 2026" in letters
    assert "4 November 2026" not in letters
    plain = page(cast.editor.person, "statement", cast.book.pk)
    own = page(cast.illustrator.person, "statement", cast.book.pk)
    for day in ("3 Nov", "4 Nov", "5 Nov"):
        assert (day in own) == (day in plain)


def test_one_readers_clock_is_not_left_over_for_the_next(cast):
    choose_zone(cast.illustrator.person, "Asia/Tokyo")
    page(cast.illustrator.person, "ledger", cast.book.pk)
    assert timezone.get_current_timezone_name() == "UTC"
    page(cast.art_director.person, "ledger", cast.book.pk)  # who told none, and took up the book's
    assert timezone.get_current_timezone_name() == "UTC"


def test_a_person_chooses_changes_and_empties_it_on_their_own_page(cast):
    client, person = Client(), cast.illustrator.person
    sign_in(client, person)
    chosen = client.post(reverse("reviews:own-zone"), {"zone": "Tokyo, Asia"}, follow=True)
    assert "by the clock of Tokyo, Asia" in chosen.content.decode()
    assert 'value="Tokyo, Asia"' in chosen.content.decode().split("known-zones")[0]
    person.refresh_from_db()
    assert person.zone == "Asia/Tokyo"
    wrong = client.post(reverse("reviews:own-zone"), {"zone": "Atlantis"})
    assert wrong.status_code == 422
    assert "is not a time zone" in wrong.content.decode()
    client.post(reverse("reviews:own-zone"), {"zone": ""})
    person.refresh_from_db()
    assert person.zone == ""


def test_the_browser_tells_it_once_at_the_sign_in_and_never_over_a_choice(cast):
    person = cast.illustrator.person
    person.set_password(PASSWORD)
    person.save()
    for told, kept in (("Mars/Olympus", ""), ("Asia/Tokyo", "Asia/Tokyo"), ("America/New_York", "Asia/Tokyo")):
        client = Client()
        given = {"username": person.email, "password": PASSWORD, "browser_zone": told}
        assert client.post(reverse("reviews:sign-in"), given).status_code == 302
        person.refresh_from_db()
        assert person.zone == kept
    form = Client().get(reverse("reviews:sign-in")).content.decode()
    assert 'name="browser_zone"' in form
    assert "guess-zone" in form


def test_a_wrong_password_tells_nothing(cast):
    person = cast.illustrator.person
    given = {"username": person.email, "password": "no", "browser_zone": "Asia/Tokyo"}
    Client().post(reverse("reviews:sign-in"), given)
    person.refresh_from_db()
    assert person.zone == ""
