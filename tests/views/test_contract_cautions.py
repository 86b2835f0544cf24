"""Dates and rounds that are told in passing carry the caution too, and the words are those of the trade."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.urls import reverse

from reviews.models import Letter
from tests.actions.test_terms import enter
from tests.cast import gather, sign_in
from tests.letter_scene import a_round
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db

CAUTION = "Rounds and dates are counted from what happened here. The signed contract decides."


@pytest.fixture
def cast():
    cast = gather(a_book())
    enter(cast)
    a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    draft(cast.passage("Pages 6–7", "ideas"), cast.illustrator)
    handed_in(cast.passage("Cover", "ideas"), cast.illustrator)
    return cast


def read(client, name, pk):
    return " ".join(unescape(client.get(reverse(f"reviews:{name}", args=[pk])).content.decode()).split())


def test_letters_ledger_and_hand_in_draft_carry_the_caution(cast, client):
    sign_in(client, cast.illustrator.person)
    book = cast.book.pk
    pages = {
        "letter": Letter.objects.get(book=cast.book, number=1).pk,
        "letters": book,
        "ledger": book,
        "draft-hand-in": cast.passage("Pages 6–7", "ideas").pk,
    }
    for name, pk in pages.items():
        assert CAUTION in read(client, name, pk), name


@pytest.mark.parametrize("name", ["account", "statement", "terms"])
def test_the_words_are_those_of_the_trade(cast, client, name):
    sign_in(client, cast.agent.person)
    page = re.sub(r"<[^>]+>", " ", read(client, name, cast.book.pk))
    for word in ("Fee beyond the fee", "Made by", "Holds it", "by silence", "in time", "second voice", "Stood"):
        assert not re.search(rf"\b{word}\b", page), word


def test_the_terms_say_that_a_question_uses_no_round(cast, client):
    sign_in(client, cast.agent.person)
    page = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", read(client, "terms", cast.book.pk)))
    assert "a question uses no round" in page.lower()
