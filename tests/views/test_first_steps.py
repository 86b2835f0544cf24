"""A book before its first picture: each seat's next steps, told from what is there, and no word too much."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.books import make_book
from reviews.actions.manuscripts import place_manuscript
from reviews.actions.seats import invite, make_person, take_seat
from reviews.models import Book, Invitation, Seat, SpreadText
from reviews.press.text_text import blocks_to_text
from reviews.rules.states import Role
from tests.cast import NAMES, PASSWORD, gather, sign_in
from tests.makers import a_book, handed_in
from tests.texts import a_text_block

pytestmark = pytest.mark.django_db


def begun(client, role: Role) -> Seat:
    """Let somebody set up a first book, alone."""
    person = make_person(email=NAMES[role][1], name=NAMES[role][0], password=PASSWORD)
    book = make_book(a_book(role=role), actor=person)
    sign_in(client, person)
    return Seat.objects.get(book=book)


def page(client, book: Book, name: str = "book-map") -> str:
    answer = client.get(reverse(f"reviews:{name}", args=[book.pk]))
    assert answer.status_code == 200
    return answer.content.decode()


def led_to(shown: str, name: str, pk: int) -> bool:
    return f'class="button main" href="{reverse(f"reviews:{name}", args=[pk])}"' in shown


def test_a_publisher_is_led_from_manuscript_to_people_to_terms(client):
    director = begun(client, Role.ART_DIRECTOR)
    book = director.book
    shown = page(client, book)
    assert led_to(shown, "manuscript", book.pk) and 'class="book-map"' not in shown
    assert "Nobody is invited to draw it yet." in shown and "It lies on nobody’s desk yet." in shown
    assert "with the illustrator" not in shown
    place_manuscript(book.pk, {4: ("Hush, said the tarn.",)}, seen={}, actor=director)
    shown = page(client, book)
    assert led_to(shown, "seats", book.pk) and "It is placed on 1 spread." in shown and "Hush, said the tarn." in shown
    made = invite(book.pk, email="juniper@aldersea.example", name="Juniper", role=Role.ILLUSTRATOR, actor=director)
    shown = page(client, book)
    assert "The illustrator is invited and has not come yet." in shown and "nobody’s desk" in shown
    Invitation.objects.filter(pk=made.pk).update(expires_at=timezone.now())
    assert "Nobody is invited to draw it yet." in page(client, book), "an invitation that ran out invites nobody"
    again = invite(book.pk, email="ash@aldersea.example", name="Ash", role=Role.ILLUSTRATOR, actor=director)
    take_seat(again.secret, name="Ash", password=PASSWORD)
    shown = page(client, book)
    assert led_to(shown, "terms", book.pk) and "It lies on the illustrator’s desk." in shown


def test_a_title_placed_on_the_cover_is_no_manuscript(client):
    cast = gather(a_book())
    SpreadText.objects.create(
        book=cast.book, spread=cast.passage("Cover", "ideas").spread, version=1, set_by=cast.editor,
        set_at=timezone.now(), blocks=blocks_to_text([a_text_block(number=1, words="The Otter Who Kept Time")]),
    )  # fmt: skip
    sign_in(client, cast.editor.person)
    shown = page(client, cast.book)
    assert "Paste it or bring a file" in shown and "It is placed on" not in shown
    assert "The Otter Who Kept Time" in shown, "its words hang on its card all the same"
    assert "Text is placed on" not in page(client, cast.book, "manuscript")


def test_an_illustrator_alone_is_led_to_people_and_can_hand_in_meanwhile(client):
    illustrator = begun(client, Role.ILLUSTRATOR)
    book = illustrator.book
    shown = page(client, book)
    assert led_to(shown, "seats", book.pk) and "You can draw and hand in meanwhile." in shown
    assert reverse("reviews:manuscript", args=[book.pk]) not in shown and "None is placed yet." in shown
    first = book.spreads.get(label="Cover").passages.order_by("stage__position").first()
    assert f'href="{reverse("reviews:draft-hand-in", args=[first.pk])}">Hand in Cover' in shown
    assert "It lies on your desk." in shown


def test_with_the_first_picture_the_map_and_the_wall_hang_and_a_draft_is_none(client):
    cast = gather(a_book())
    sign_in(client, cast.art_director.person)
    assert "Nothing hangs here yet" in page(client, cast.book, "wall") and "First steps" in page(client, cast.book)
    handed_in(cast.passage("Cover", "ideas"), cast.illustrator)
    assert "Nothing hangs here yet" not in page(client, cast.book, "wall")
    shown = page(client, cast.book)
    assert "First steps" not in shown and 'class="book-map"' in shown


def test_what_a_seat_may_not_see_is_handed_in_all_the_same(client):
    cast = gather(a_book())
    sales = cast.seat_advisers()[Role.SALES]
    sign_in(client, sales.person)
    assert "Nothing is handed in yet" in client.get("/").content.decode()
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    assert "Nothing is handed in yet" not in client.get("/").content.decode()
    shown = page(client, cast.book)
    assert "First steps" not in shown and "The first hand-in" not in shown and 'class="book-map"' in shown
    assert "Nothing hangs here yet" not in page(client, cast.book, "wall")


def test_seats_see_no_step_of_pages_that_are_closed_to_them(client):
    cast = gather(a_book())
    advisers = cast.seat_advisers()
    sign_in(client, advisers[Role.SALES].person)
    shown = page(client, cast.book)
    assert "First steps" in shown and "The terms" not in shown and "The manuscript" not in shown
    sign_in(client, cast.agent.person)
    shown = page(client, cast.book)
    assert "The terms" in shown and "Bring the manuscript" not in shown


def test_the_desk_leads_to_the_first_steps_until_a_picture_is_there(client):
    cast = gather(a_book())
    sign_in(client, cast.art_director.person)
    assert "Nothing is handed in yet: its first steps" in client.get("/").content.decode()
    handed_in(cast.passage("Cover", "ideas"), cast.illustrator)
    assert "its first steps" not in client.get("/").content.decode()


def test_it_costs_two_queries_more_than_the_map(client, django_assert_max_num_queries):
    cast = gather(a_book())
    sign_in(client, cast.art_director.person)
    with django_assert_max_num_queries(12):
        page(client, cast.book)
