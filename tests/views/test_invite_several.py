"""Seats offered in one field: every way people write addresses, every mistake told, nobody lost, nobody twice."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews import jobs
from reviews.actions.books import make_book
from reviews.actions.seats import make_person
from reviews.models import Invitation, Job, LedgerEntry
from reviews.rules.states import Deed, Role
from tests.cast import NAMES, gather, sign_in
from tests.makers import a_book

pytestmark = pytest.mark.django_db


@pytest.fixture
def corvin():
    return make_person(email=NAMES[Role.ART_DIRECTOR][1], name=NAMES[Role.ART_DIRECTOR][0], password="a pail of water")


@pytest.fixture
def book(client, corvin):
    made = make_book(a_book(), actor=corvin)
    sign_in(client, corvin)
    return made


def send(client, book, people: str, part: str = "editor"):
    return client.post(reverse("reviews:invite-several", args=[book.pk]), {"people": people, "part": part})


def invited(book) -> list[tuple[str, str, str]]:
    rows = Invitation.objects.filter(book=book).order_by("pk")
    return [(one.name, one.email, one.role) for one in rows]


WREN, IVO, ADA = ("Wren Tallis", "wren@reed.example"), ("Ivo Ash", "ivo@ash.example"), ("Ada Fen", "ada@fen.example")


@pytest.mark.parametrize(
    "people",
    [
        "Wren Tallis <wren@reed.example> editor\nIvo Ash <Ivo@Ash.example> illustrator\n"
        "Ada Fen <ada@fen.example>: production",
        "Wren Tallis <wren@reed.example>, Ivo Ash <ivo@ash.example> illustrator; Ada Fen <ada@fen.example>, Production",
        '"Wren Tallis" <wren@reed.example> (editor)\r\n\r\nIvo Ash ivo@ash.example Illustrator\r\n'
        "Ada Fen ada@fen.example production",
    ],
)
def test_everybody_is_invited_to_the_part_that_is_named_or_chosen(client, book, people):
    answer = send(client, book, people)
    assert answer["Location"] == reverse("reviews:seats", args=[book.pk])
    assert invited(book) == [(*WREN, "editor"), (*IVO, "illustrator"), (*ADA, "production")]
    assert Job.objects.filter(kind=jobs.INVITATION).count() == LedgerEntry.objects.filter(deed=Deed.INVITE).count() == 3
    shown = client.get(answer["Location"]).content.decode()
    assert "Wren Tallis (editor), Ivo Ash (illustrator), Ada Fen (production)" in shown


def test_an_address_alone_is_enough_and_a_part_of_two_words_too(client, book):
    send(client, book, "wren@reed.example expert reader, ivo@ash.example", part="designer")
    assert invited(book) == [
        ("Wren", "wren@reed.example", "reader"), ("Ivo", "ivo@ash.example", "designer")
    ]  # fmt: skip


def test_an_address_alone_is_not_told_to_the_other_side(client):
    cast = gather(a_book())
    sign_in(client, cast.art_director.person)
    send(client, cast.book, "mor-gan.vale2+books@reed.example", part="sales")
    assert invited(cast.book)[-1][0] == "Mor Gan Vale"
    sign_in(client, cast.illustrator.person)
    for name in ("ledger", "seats"):
        shown = client.get(reverse(f"reviews:{name}", args=[cast.book.pk])).content.decode()
        assert "Mor Gan Vale" in shown and "reed.example" not in shown


def test_nobody_gets_a_part_that_nobody_chose(client, book):
    shown = send(client, book, "Wren Tallis <wren@reed.example>", part="").content.decode()
    assert "It names no part." in shown and invited(book) == []
    send(client, book, "Wren Tallis <wren@reed.example> editor", part="")
    assert invited(book) == [(*WREN, "editor")]
    shown = client.get(reverse("reviews:seats", args=[book.pk])).content.decode()
    assert '<option value="" selected>Each line names its own</option>' in shown


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ("Ivo Ash", "There is no e-mail address in it."),
        ("Ivo <ivo@ash>", "is not an e-mail address"),
        ("ivo@ash.example wizard", "is no part you can give"),
        ("ivo@ash.example agent", "is no part you can give"),
        ("ivo@ash.example guest of the cover meeting", "is no part you can give"),
        ("WREN@reed.example production", "wren@reed.example is named twice."),
        (f"{NAMES[Role.ART_DIRECTOR][1]} editor", "already has a seat"),
        ("<b>x</b>", "is not an e-mail address"),
    ],
)
def test_one_mistake_keeps_all_back_says_what_it_is_and_loses_no_line(client, book, wrong, why):
    people = f"Wren Tallis <wren@reed.example> editor\n{wrong}\nAda Fen <ada@fen.example>"
    answer = send(client, book, people)
    shown = answer.content.decode()
    assert answer.status_code == 422 and why in shown and "Nobody was invited yet" in shown
    assert invited(book) == [] and not LedgerEntry.objects.filter(deed=Deed.INVITE).exists()
    assert "Wren Tallis &lt;wren@reed.example&gt; editor" in shown and "Ada Fen &lt;ada@fen.example&gt;" in shown
    assert "<b>x</b>" not in shown


def test_every_mistake_is_told_at_once(client, book):
    shown = send(client, book, "Ivo Ash\nwren@reed.example wizard\nada@fen.example\nada@@fen").content.decode()
    assert shown.count("<li><b>") == 3


@pytest.mark.parametrize("people", ["", " \n ,; ", "a@b.example\n" * 31])
def test_nobody_and_too_many_are_told(client, book, people):
    answer = send(client, book, people)
    assert answer.status_code == 422 and 'class="wrong"' in answer.content.decode()
    assert invited(book) == []


def test_only_who_may_offer_seats_finds_the_field(client):
    cast = gather(a_book())
    for role in NAMES:
        sign_in(client, cast.seat(role).person)
        may = role in (Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.AGENT)
        shown = client.get(reverse("reviews:seats", args=[cast.book.pk])).content.decode()
        assert ('name="people"' in shown) == may
        # The illustrator's side has a field, and no editor to give.
        expected = {Role.ART_DIRECTOR: 302, Role.ILLUSTRATOR: 422, Role.AGENT: 422}.get(role, 403)
        assert send(client, cast.book, "new@reed.example").status_code == expected
