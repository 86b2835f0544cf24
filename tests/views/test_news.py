"""What an open page is told of what others did meanwhile: what its seat may read, and no stir of more."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone

from reviews.actions import hand_ins, letters, notes, seats
from reviews.actions.clock import as_if_at
from reviews.actions.leftovers import clear_old_rows
from reviews.models import LiveSession, Looking, OpenedTable
from reviews.rules.permits import VIEWS, is_told_who_looks
from reviews.rules.states import Gate, Role
from tests.cast import gather, sign_in
from tests.letter_scene import answered, pinned, sent
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db
#: A page of before whatever a test does, beyond the few seconds that a deed may take.
EARLIER = timedelta(minutes=1)


@pytest.fixture
def cast():
    cast = gather(a_book())
    cast.ideas = cast.passage("Cover", "ideas")
    with as_if_at(timezone.now() - 2 * EARLIER):
        cast.handed = handed_in(cast.ideas, cast.illustrator, [0])
    return cast


def everybody(cast) -> dict[Role, Any]:
    """Seat all there are on the cover's ideas, a guest and the advisers among them."""
    from reviews.actions.reading import ask_to_read

    found = {role: cast.seat(role) for role in Role if hasattr(cast, role.value)}
    found |= cast.seat_advisers() | {Role.GUEST: cast.invite_guest(cast.ideas)}
    ask_to_read(cast.book.pk, found[Role.READER].pk, [cast.ideas.spread_id], "Is it right?", actor=cast.editor)
    return found


def at_table(seat) -> Client:
    client = Client()
    sign_in(client, seat.person)
    return client


def asked_by(client: Client, passage) -> str:
    """Read from the table where it asks for news."""
    page = client.get(f"/passages/{passage.pk}/").content.decode()
    return unescape(re.findall(r'data-news="([^"]+)"', page)[0])


def news(client: Client, address: str, **headers: str) -> dict[str, Any]:
    answer = client.get(address, **headers)
    assert answer.status_code == 200, answer.content
    return answer.json()


def a_letter(cast):
    pinned(cast.ideas, cast.art_director, "Longer.")
    answered(cast, cast.ideas, "ask")
    return sent(cast)


def lines(told: dict[str, Any]) -> list[str]:
    return [re.sub(r"at \d\d:\d\d", "at TIME", line["sentence"]) for line in told["lines"]]


def later(address: str) -> str:
    """The address of a page that was opened a minute ago, so that nothing done just now counts as under way then."""
    at = (timezone.now() - EARLIER).isoformat().replace("+", "%2B")
    return re.sub(r"since=[^&]+", f"since={at}", address)


def test_where_nothing_came_the_answer_is_empty(cast):
    client = at_table(cast.editor)
    address = asked_by(client, cast.ideas)
    first = client.get(address)
    assert (first.json()["is_new"], first.json()["lines"]) == (False, [])
    again = client.get(address, HTTP_IF_NONE_MATCH=first.headers["ETag"])
    assert (again.status_code, again.content) == (304, b"")
    pinned(cast.ideas, cast.art_director, "Longer.")
    assert client.get(address, HTTP_IF_NONE_MATCH=first.headers["ETag"]).status_code == 200


def test_an_unsent_note_stirs_the_house_and_nobody_else(cast):
    clients = {role: at_table(seat) for role, seat in everybody(cast).items()}
    asked = {role: later(asked_by(client, cast.ideas)) for role, client in clients.items()}
    # Twice: at the second asking each looks already, and knows who else does.
    for _ in range(2):
        quiet = {role: client.get(asked[role]).headers["ETag"] for role, client in clients.items()}
    note = pinned(cast.ideas, cast.art_director, "Owlglass.")
    notes.edit_note(note.pk, words="Owlglass!", cause="direction", actor=cast.art_director)
    letters.word_letter(cast.book.pk, "Owlglass", actor=cast.art_director)
    letters.set_answer(cast.ideas.pk, answer="ask", actor=cast.art_director)
    answers = {role: client.get(asked[role], HTTP_IF_NONE_MATCH=quiet[role]) for role, client in clients.items()}
    stirred = {role for role, answer in answers.items() if answer.status_code != 304}
    assert stirred == {Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION, Role.DESIGNER}
    assert not [role for role, answer in answers.items() if "Owlglass" in answer.content.decode()]


def test_a_new_version_is_told_to_whoever_sees_the_art_but_not_to_its_maker(cast):
    clients = {role: at_table(seat) for role, seat in everybody(cast).items()}
    asked = {role: asked_by(client, cast.ideas) for role, client in clients.items()}
    assert not any(news(client, asked[role])["lines"] for role, client in clients.items())
    a_letter(cast)
    handed_in(cast.ideas, cast.illustrator, [4])
    for role, client in clients.items():
        told = [line for line in lines(news(client, asked[role])) if "version" in line]
        assert told == ([] if role == Role.ILLUSTRATOR else ["A new version was handed in at TIME."]), role


def test_sales_hear_nothing_of_art_under_way_inside_the_book(cast):
    seat = everybody(cast)[Role.SALES]
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator, [1])
    assert at_table(seat).get(f"/passages/{passage.pk}/news/").status_code == 404


def test_what_is_handed_in_at_a_stage_of_the_studio_stays_there(cast):
    hidden = cast.passage("Pages 4–5", "ideas")
    hidden.stage.gate = Gate.HIDDEN
    hidden.stage.save(update_fields=["gate"])
    clients = {role: at_table(cast.seat(role)) for role in (Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.AGENT)}
    addresses = {role: asked_by(client, hidden) for role, client in clients.items()}
    begun = draft(hidden, cast.illustrator, [1])
    hand_ins.hand_in(begun.pk, actor=cast.illustrator)
    for role in (Role.ART_DIRECTOR, Role.AGENT):
        told = news(clients[role], addresses[role])
        assert (told["lines"], told["looking"]) == ([], "")
    news(clients[Role.ILLUSTRATOR], addresses[Role.ILLUSTRATOR])
    assert news(clients[Role.AGENT], addresses[Role.AGENT])["looking"] == "", "nor that somebody is at work there"


def test_a_letter_that_went_is_told_with_the_way_to_it_but_not_to_whoever_sent_it(cast):
    clients = {role: at_table(seat) for role, seat in everybody(cast).items()}
    asked = {role: asked_by(client, cast.ideas) for role, client in clients.items()}
    letter = a_letter(cast)
    way = f"/letters/{letter.pk}/#passage-{cast.ideas.pk}"
    for role, client in clients.items():
        told = [(line["sentence"][:45], line["url"]) for line in news(client, asked[role])["lines"]]
        reads = role in VIEWS["letters"] and role != Role.ART_DIRECTOR
        assert told == ([("Letter 1, which answers this, was sent at " + told[0][0][42:], way)] if reads else []), role
        assert not reads or client.get(way).status_code == 200


def test_who_looks_is_told_on_ones_own_side_to_whoever_knows_the_seats(cast):
    seated = everybody(cast)
    clients = {role: at_table(seat) for role, seat in seated.items()}
    for role in (*clients, *clients):  # at the second asking all of them look
        words = news(clients[role], asked_by(clients[role], cast.ideas))["looking"]
        seated[role].told = words
    for reader, seat in seated.items():
        known = sorted(
            one.person.name for role, one in seated.items() if is_told_who_looks(reader, role) and one != seat
        )
        if not known:
            assert seat.told == "", reader
        elif len(known) == 1:
            assert seat.told == f"{known[0]} is looking at this too."
        else:
            assert seat.told == f"{', '.join(known[:3])} and {len(known) - 3} others are looking at this too."


def test_the_other_side_and_who_sees_a_part_never_learn_who_looks():
    house = {Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION, Role.DESIGNER}
    for role in (Role.GUEST, Role.SALES, Role.AUTHOR, Role.READER):
        assert not any(is_told_who_looks(role, other) for other in Role)
    for role in (Role.ILLUSTRATOR, Role.AGENT):
        assert not any(is_told_who_looks(role, other) for other in house)
        assert not any(is_told_who_looks(other, role) for other in house)


def test_whoever_looks_away_or_leaves_is_named_no_more_and_the_night_forgets_them(cast):
    editor, reader = at_table(cast.editor), at_table(cast.art_director)
    news(editor, asked_by(editor, cast.ideas))
    address = asked_by(reader, cast.ideas)
    assert news(reader, address)["looking"] == "Petra Innisfold is looking at this too."
    Looking.objects.filter(seat=cast.editor).update(seen_at=timezone.now() - timedelta(seconds=71))
    assert news(reader, address)["looking"] == ""
    news(editor, asked_by(editor, cast.ideas))
    assert news(reader, address)["looking"] != ""
    seats.end_seat(cast.editor.pk, actor=cast.art_director)
    assert news(reader, address)["looking"] == ""
    Looking.objects.update(seen_at=timezone.now() - timedelta(days=2))
    clear_old_rows(timezone.now())
    assert not Looking.objects.exists()


def test_an_idle_table_takes_few_queries_and_writes_once_in_twenty_seconds(cast, django_assert_num_queries):
    client = at_table(cast.editor)
    address = asked_by(client, cast.ideas)
    with django_assert_num_queries(6):  # session and person, passage, seat, who looks, that one looks, newest entry
        news(client, address)
    with django_assert_num_queries(5):
        news(client, address)


def test_news_open_no_hand_in_and_keep_nobody_signed_in(cast):
    client = at_table(cast.editor)
    address = asked_by(client, cast.ideas)
    opened = OpenedTable.objects.count()
    long_ago = timezone.now() - timedelta(minutes=30)
    LiveSession.objects.update(seen_at=long_ago)
    news(client, address, HTTP_X_READ_BY="clock")
    assert LiveSession.objects.get().seen_at == long_ago, "a screen left open is not somebody who looks in"
    assert OpenedTable.objects.count() == opened
    LiveSession.objects.update(seen_at=timezone.now() - timedelta(seconds=settings.IDLE_SECONDS + 60))
    cast.editor.person.set_password("a pail of still water")
    cast.editor.person.save()
    sign_in(client, cast.editor.person)
    LiveSession.objects.update(seen_at=timezone.now() - timedelta(seconds=settings.IDLE_SECONDS + 60))
    assert client.get(address, HTTP_ACCEPT="application/json", HTTP_X_READ_BY="clock").status_code == 401


def test_the_table_is_read_again_with_the_hand_in_that_lies_on_it(cast):
    client = at_table(cast.editor)
    page = client.get(f"/passages/{cast.ideas.pk}/").content.decode()
    assert f'data-here="/passages/{cast.ideas.pk}/?hand_in=1"' in page
    a_letter(cast)
    second = handed_in(cast.ideas, cast.illustrator, [4])
    client.get(f"/passages/{cast.ideas.pk}/?hand_in=1", HTTP_X_READ_BY="clock")
    assert not OpenedTable.objects.filter(hand_in=second).exists(), "what nobody was shown was not looked at"


@pytest.mark.parametrize(
    "since",
    ["0001-01-01T00:00:00%2B00:00", "0001-01-01T00:00:00%2B14:00", "9999-12-31T23:59:59-14:00", "1970-01-01T00:00:00Z"],
)
def test_a_moment_at_the_end_of_all_days_is_no_failure(cast, since):
    a_letter(cast)
    client = at_table(cast.illustrator)
    assert news(client, f"/passages/{cast.ideas.pk}/news/?since={since}")["mark"]
    assert news(client, f"/books/{cast.book.pk}/news/?since={since}")["mark"]


def test_a_table_on_which_nothing_lay_is_read_again_without_opening_what_came(cast):
    passage = cast.passage("Pages 4–5", "ideas")
    client = at_table(cast.art_director)
    client.get(f"/passages/{passage.pk}/")
    first = handed_in(passage, cast.illustrator, [1])
    client.get(f"/passages/{passage.pk}/", HTTP_X_READ_BY="clock")
    assert not OpenedTable.objects.filter(hand_in=first).exists(), "nobody was shown it"
    client.get(f"/passages/{passage.pk}/")
    assert OpenedTable.objects.filter(hand_in=first).exists()


def test_nonsense_is_no_failure(cast):
    client = at_table(cast.editor)
    for since in ("", "yesterday", "2026-13-45T99:00", "2026-01-01T10:00:00"):
        for known in ("", "two", "²", "9" * 40):
            told = news(client, f"/passages/{cast.ideas.pk}/news/?since={since}&hand_in={known}")
            assert set(told) == {"mark", "is_new", "lines", "looking"}


class TestOnThePagesOfABook:
    def asked(self, client: Client, cast, page: str) -> str:
        body = client.get(f"/books/{cast.book.pk}/{page}").content.decode()
        return later(unescape(re.findall(r'data-book-news="([^"]+)"', body)[0]))

    def test_one_new_version_leads_to_it_and_several_to_the_map(self, cast):
        client = at_table(cast.art_director)
        address = self.asked(client, cast, "wall/")
        assert news(client, address)["lines"] == []
        four = cast.passage("Pages 4–5", "ideas")
        handed_in(four, cast.illustrator, [1])
        told = news(client, address)
        assert lines(told) == ["Pages 4–5, ideas: a new version was handed in at TIME."]
        assert told["lines"][0]["url"] == f"/passages/{four.pk}/"
        handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator, [2])
        told = news(client, address)
        assert lines(told) == ["2 spreads have a new version, the last at TIME."]
        assert told["lines"][0]["url"] == f"/books/{cast.book.pk}/"

    def test_the_letter_being_written_says_that_others_wrote_in_it(self, cast):
        client = at_table(cast.art_director)
        address = self.asked(client, cast, "letter/")
        pinned(cast.ideas, cast.art_director, "One's own.")
        assert news(client, address)["lines"] == []
        pinned(cast.ideas, cast.editor, "Longer.")
        assert lines(news(client, address)) == [
            "Others wrote in this letter since you opened it, the last time at TIME."
        ]
        assert lines(news(client, self.asked(client, cast, "wall/"))) == [], "elsewhere nothing was opened that changed"

    def test_a_reply_under_a_note_that_was_sent_is_no_writing_in_the_letter(self, cast):
        note = pinned(cast.ideas, cast.art_director, "Longer.")
        answered(cast, cast.ideas, "ask")
        sent(cast)
        client = at_table(cast.art_director)
        address = self.asked(client, cast, "letter/")
        notes.reply(note.pk, "How much longer?", actor=cast.illustrator)
        assert news(client, address)["lines"] == []

    def test_a_version_that_was_taken_back_is_not_told_as_new(self, cast):
        client = at_table(cast.art_director)
        address = self.asked(client, cast, "wall/")
        passages = [cast.passage(f"Pages {pages}", "ideas") for pages in ("4–5", "6–7")]
        handed = [handed_in(passage, cast.illustrator, [1]) for passage in passages]
        hand_ins.withdraw_hand_in(handed[0].pk, "The wrong file.", actor=cast.illustrator)
        assert lines(news(client, address)) == ["Pages 6–7, ideas: a new version was handed in at TIME."]
        hand_ins.withdraw_hand_in(handed[1].pk, "The wrong file too.", actor=cast.illustrator)
        assert news(client, address)["lines"] == []

    def test_nobody_else_can_ask_for_the_letter_being_written(self, cast):
        pinned(cast.ideas, cast.editor, "Longer.")
        at = (timezone.now() - EARLIER).isoformat().replace("+", "%2B")
        for role in (Role.ILLUSTRATOR, Role.AGENT, Role.PRODUCTION):
            client = at_table(cast.seat(role))
            assert news(client, f"/books/{cast.book.pk}/news/?on=draft-letter&since={at}")["lines"] == []

    def test_a_letter_is_told_to_the_other_side_wherever_they_are(self, cast):
        client = at_table(cast.illustrator)
        address = self.asked(client, cast, "")
        letter = a_letter(cast)
        told = news(client, address)
        assert lines(told) == ["Letter 1 was sent at TIME."]
        assert told["lines"][0]["url"] == f"/letters/{letter.pk}/"

    def test_whoever_reads_no_ledger_is_not_made_to_ask(self, cast):
        author = everybody(cast)[Role.AUTHOR]
        assert "data-book-news" not in at_table(author).get(f"/books/{cast.book.pk}/").content.decode()
        assert news(at_table(author), f"/books/{cast.book.pk}/news/")["lines"] == []

    def test_it_takes_three_queries_and_one_more_with_news(self, cast, django_assert_num_queries):
        client = at_table(cast.art_director)
        address = self.asked(client, cast, "wall/")
        with django_assert_num_queries(3):
            news(client, address)
        for n, pages in enumerate(("4–5", "6–7", "8–9"), 1):
            handed_in(cast.passage(f"Pages {pages}", "ideas"), cast.illustrator, [n])
        with django_assert_num_queries(4):
            news(client, address)
