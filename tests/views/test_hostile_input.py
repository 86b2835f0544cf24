"""What no page of ours would send is refused in a sentence, at once, and changes nothing."""

from __future__ import annotations

import json
import time
from urllib.parse import urlencode

import pytest
from django.test import Client
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django.urls import reverse

from reviews.actions import hand_ins
from reviews.forms.notes import NoteForm, PlaceForm
from reviews.models import LedgerEntry
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.makers import a_book, draft, handed_in
from tests.views.access_world import ADDRESSES

pytestmark = pytest.mark.django_db

AT_ONCE_SECONDS = 0.05
JSON = {"accept": "application/json"}
TWENTY_NINES = int("9" * 20)
JUST_BEYOND = 2**63
NUMBERED = [(name, words) for name, words in ADDRESSES if words and all(word.endswith("_id") for word in words)]
DEEP = "[" * 100_000 + "]" * 100_000
NUMBER_OF_5000_DIGITS = '{"kind": "point", "points": [[%s, 0.5]]}' % ("9" * 5000)
MANY_POINTS = json.dumps({"kind": "outline", "points": [[0.1234, 0.4321]] * 200_000})


@pytest.fixture
def cast():
    return gather(a_book())


def as_role(cast, role) -> Client:
    client = Client()
    sign_in(client, cast.seat(role).person)
    return client


def quickest(true) -> tuple[float, object]:
    """Return the shortest of five times and the last answer: of this thread alone, as the machine may be busy."""
    times = []
    for _ in range(5):
        began = time.thread_time()
        answer = true()
        times.append(time.thread_time() - began)
    return min(times), answer


def test_there_are_addresses_with_numbers():
    assert len(NUMBERED) > 40


@pytest.mark.parametrize("number", [JUST_BEYOND, TWENTY_NINES])
def test_a_number_beyond_every_row_is_not_there_at_any_address(cast, number):
    client = as_role(cast, Role.ART_DIRECTOR)
    for name, words in NUMBERED:
        path = reverse(f"reviews:{name}", kwargs=dict.fromkeys(words, number))
        for ask in (client.get, client.post):
            answer = ask(path)
            assert answer.status_code == 404, path
            assert "Page not found" in answer.content.decode(), path
    seconds, _ = quickest(lambda: client.get(path))
    assert seconds < AT_ONCE_SECONDS


def test_the_largest_number_a_row_can_have_is_only_not_there(cast):
    client = as_role(cast, Role.ART_DIRECTOR)
    answer = client.get(reverse("reviews:book-map", args=[JUST_BEYOND - 1]))
    assert answer.status_code == 404


@pytest.mark.parametrize("region", [DEEP, NUMBER_OF_5000_DIGITS, MANY_POINTS, "{", "NaN"])
@pytest.mark.parametrize("form", [NoteForm, PlaceForm])
def test_a_mark_that_nobody_draws_costs_nothing(form, region):
    seconds, filled = quickest(lambda: form({"picture": "1", "region": region}).is_valid())
    assert seconds < AT_ONCE_SECONDS
    assert region == "NaN" or not filled


@pytest.mark.parametrize("region", [DEEP, NUMBER_OF_5000_DIGITS, MANY_POINTS])
def test_such_a_mark_is_refused_in_a_sentence_through_the_whole_portal(cast, region, settings):
    passage = cast.passage("Pages 4–5", "ideas")
    picture = handed_in(passage, cast.illustrator).pictures.get()
    client, n_entries = as_role(cast, Role.EDITOR), LedgerEntry.objects.count()
    posted = {"picture": picture.pk, "region": region, "words": "Here.", "cause": "direction"}
    path = reverse("reviews:pin-note", args=[passage.pk])
    client.get(path)
    by_query = {"data": urlencode(posted).encode(), "content_type": "application/x-www-form-urlencoded"}
    for form in ({"data": encode_multipart(BOUNDARY, posted), "content_type": MULTIPART_CONTENT}, by_query):
        seconds, answer = quickest(lambda form=form: client.generic("POST", path, headers=JSON, **form))
        sentence = "That mark does not lie on the picture. Draw it again."
        if len(form["data"]) > settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            sentence = f"This is {-(-len(form['data']) // 2**20)} MB; 1 MB may be sent at once here. Nothing was kept."
        assert (answer.status_code, answer.json()["sentence"]) == (413 if "MB" in sentence else 409, sentence)
        assert LedgerEntry.objects.count() == n_entries
        assert seconds < AT_ONCE_SECONDS


@pytest.mark.parametrize("picture", [JUST_BEYOND, TWENTY_NINES, -1, "9" * 5000])
def test_a_picture_that_cannot_be_is_refused_in_a_sentence(cast, picture):
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator)
    posted = {
        "picture": picture,
        "region": '{"kind": "point", "points": [[0.5, 0.5]]}',
        "words": "x",
        "cause": "direction",
    }
    answer = as_role(cast, Role.EDITOR).post(reverse("reviews:pin-note", args=[passage.pk]), posted, headers=JSON)
    assert answer.status_code in (404, 409)
    assert answer.json()["sentence"]


def test_pages_of_two_books_are_not_joined(cast):
    other = gather(a_book(title="The Heron’s Umbrella"))
    left, right = cast.passage("Pages 4–5", "ideas").spread, other.passage("Pages 6–7", "ideas").spread
    client = as_role(cast, Role.ART_DIRECTOR)
    n_entries = LedgerEntry.objects.count()
    path = reverse("reviews:join-spreads", args=[left.pk, right.pk])
    seconds, answer = quickest(lambda: client.post(path, headers=JSON))
    assert seconds < AT_ONCE_SECONDS
    assert answer.status_code == 409
    assert "are not in the same book" in answer.json()["sentence"]
    assert LedgerEntry.objects.count() == n_entries


def test_what_was_taken_back_is_gone_for_the_others(cast):
    handed = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    picture = handed.pictures.get()
    hand_ins.withdraw_hand_in(handed.pk, "The wrong scan.", actor=cast.illustrator)
    for role in (Role.ART_DIRECTOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION):
        for name in ("picture-state", "picture-original", "picture-preview", "picture-thumb"):
            answer = as_role(cast, role).get(reverse(f"reviews:{name}", args=[picture.pk]))
            assert answer.status_code == 404, (role, name)
    own = as_role(cast, Role.ILLUSTRATOR).get(reverse("reviews:picture-state", args=[picture.pk]))
    assert own.status_code == 200


def test_the_letter_being_written_cannot_be_told_from_none(cast):
    from reviews.actions import letters
    from reviews.models import Letter

    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator)
    letters.set_answer(passage.pk, answer="ask", actor=cast.art_director)
    begun = Letter.objects.get(book=cast.book)
    for role in (Role.ILLUSTRATOR, Role.AGENT, Role.PRODUCTION):
        client = as_role(cast, role)
        for name in ("letter", "letter-paper"):
            numbers = (begun.pk, begun.pk + 1)
            answers = [client.get(reverse(f"reviews:{name}", args=[pk]), headers=JSON) for pk in numbers]
            assert [answer.status_code for answer in answers] == [404, 404], (role, name)
            assert answers[0].content == answers[1].content
        sendings = [client.post(reverse("reviews:send-letter", args=[pk]), headers=JSON) for pk in numbers]
        assert [answer.status_code for answer in sendings] == [404, 404], role


def test_a_guest_cannot_tell_what_else_there_is(cast):
    passage, other = cast.passage("Cover", "ideas"), cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator)
    unseen = draft(other, cast.illustrator, (3,)).pictures.get()
    guest = Client()
    sign_in(guest, cast.invite_guest(passage).person)
    asked = {"passage": (other.pk, 99_999), "picture-state": (unseen.pk, 99_999)}
    for name, numbers in asked.items():
        answers = [guest.get(reverse(f"reviews:{name}", args=[pk]), headers=JSON) for pk in numbers]
        assert [answer.status_code for answer in answers] == [404, 404], name
        assert answers[0].content == answers[1].content, name


def test_pages_tables_and_papers_are_kept_by_no_cache(cast):
    client = as_role(cast, Role.ART_DIRECTOR)
    names = ["book-map", "plan", "seats", "account", "ledger", "statement", "statement-csv", "statement-json", "terms"]
    for path in ["/", "/nothing-here/", *(reverse(f"reviews:{name}", args=[cast.book.pk]) for name in names)]:
        directives = {word.strip() for word in client.get(path).headers["Cache-Control"].split(",")}
        assert directives >= {"private", "no-store"}, path


def test_pictures_may_be_kept_by_their_readers_browser_alone(cast, monkeypatch):
    from reviews.queries import pictures

    monkeypatch.setattr(pictures, "rendition", lambda picture, name: b"jpeg")
    handed = handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    path = reverse("reviews:picture-thumb", args=[handed.pictures.get().pk])
    kept = as_role(cast, Role.EDITOR).get(path).headers["Cache-Control"]
    assert "private" in kept
    assert "public" not in kept
