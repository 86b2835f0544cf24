"""A mark on an idea: given, changed, and taken back by whoever gave it."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews.actions.letters import set_answer
from reviews.actions.notes import mark_option, unmark_option
from reviews.models import LedgerEntry, OptionMark
from reviews.pages.wording.ledger import sentence
from reviews.queries.held_check import check_held
from tests.cast import gather, sign_in
from tests.letter_scene import sent
from tests.makers import a_book, handed_in
from tests.refusing import refusal

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def cover(cast):
    return handed_in(cast.passage("Cover", "ideas"), cast.illustrator, [1, 2])


def test_a_mark_is_taken_back_and_the_ledger_tells_both(cast, cover):
    first = cover.pictures.get(position=1)
    mark_option(first.pk, verdict="this", why="The moon.", actor=cast.editor)
    mark_option(first.pk, verdict="not_this", actor=cast.production)
    unmark_option(first.pk, actor=cast.editor)
    assert [mark.seat for mark in OptionMark.objects.all()] == [cast.production], "nobody takes back what another said"
    told = sentence(LedgerEntry.objects.latest("seq").as_entry())
    assert told == "Petra Innisfold took back the mark on option 1 of Cover, ideas."
    assert LedgerEntry.objects.latest("seq").sight == "publisher"
    assert check_held(cast.book).faults == []
    assert refusal(unmark_option, first.pk, actor=cast.editor) == "mark-gone"


def test_a_mark_is_not_taken_back_once_the_letter_went(cast, cover):
    first = cover.pictures.get(position=1)
    mark_option(first.pk, verdict="this", actor=cast.editor)
    set_answer(cover.passage_id, answer="approve", picture_id=first.pk, actor=cast.art_director)
    sent(cast)
    assert refusal(unmark_option, first.pk, actor=cast.editor) == "not-now"
    assert refusal(unmark_option, first.pk, actor=cast.illustrator) == "not-yours"
    assert OptionMark.objects.count() == 1


def test_the_table_offers_it_to_whoever_marked_and_the_desk_asks_again(cast, cover, client):
    first = cover.pictures.get(position=1)
    table, marks = (
        reverse("reviews:passage", args=[cover.passage_id]),
        reverse("reviews:mark-option", args=[cover.passage_id]),
    )
    sign_in(client, cast.editor.person)
    client.post(marks, {"picture": first.pk, "verdict": "this", "why": ""})
    assert "Take my mark back" in client.get(table).content.decode()
    assert "Mark the ideas against the text" not in client.get("/").content.decode()
    sign_in(client, cast.art_director.person)
    assert "Take my mark back" not in client.get(table).content.decode()
    sign_in(client, cast.editor.person)
    client.post(marks, {"picture": first.pk, "verdict": "none"})
    assert not OptionMark.objects.exists()
    assert "Mark the ideas against the text" in client.get("/").content.decode()


def test_a_guest_takes_back_the_one_mark_they_left(cast, cover, client):
    guest = cast.invite_guest(cover.passage)
    first = cover.pictures.get(position=1)
    mark_option(first.pk, verdict="this", actor=guest)
    sign_in(client, guest.person)
    marks = reverse("reviews:mark-option", args=[cover.passage_id])
    client.post(marks, {"picture": first.pk, "verdict": "none"})
    assert not OptionMark.objects.exists()
