"""The first screen of everybody, as a page."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews.actions import notes, terms
from reviews.actions.seats import make_person
from reviews.models import HandIn
from reviews.rules.contract.terms import WhenOver
from reviews.rules.states import Cause, Role
from tests.actions.test_terms import enter
from tests.cast import PASSWORD, gather, sign_in
from tests.letter_scene import a_round
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


def shown(client, person) -> str:
    sign_in(client, person)
    answer = client.get("/")
    assert answer.status_code == 200
    return answer.content.decode()


def busy(cast) -> None:
    for label in ("Cover", "Pages 4–5", "Pages 6–7"):
        passage = cast.passage(label, "ideas")
        hand_in = handed_in(passage, cast.illustrator)
        notes.pin_note(
            passage.pk,
            hand_in.pictures.get().pk,
            region={"kind": "point", "points": [[0.5, 0.5]]},
            words="The moon is missing from the pail.",
            cause=Cause.DIRECTION,
            actor=cast.editor,
        )


def test_an_empty_desk_says_the_next_step(client, cast):
    page = shown(client, cast.stranger)
    assert "Your desk is empty" in page and reverse("reviews:new-book") in page


def test_a_guest_goes_straight_to_the_one_passage(client, cast):
    ideas = cast.passage("Cover", "ideas")
    handed_in(ideas, cast.illustrator)
    guest = cast.invite_guest(ideas)
    sign_in(client, guest.person)
    assert client.get("/")["Location"] == reverse("reviews:passage", args=[ideas.pk])
    assert client.get(reverse("reviews:new-book")).status_code == 403


def test_every_role_finds_its_work_with_a_way_to_it(client, cast):
    busy(cast)
    words = {
        Role.ILLUSTRATOR: "Hand in the ideas",
        Role.ART_DIRECTOR: "Answer the ideas",
        Role.EDITOR: "With the art director",
        Role.AGENT: "With the art director",
    }
    for role, said in words.items():
        page = shown(client, cast.seat(role).person)
        assert said in page
        assert reverse("reviews:passage", args=[cast.passage("Pages 4–5", "ideas").pk]) in page
        assert reverse("reviews:book-map", args=[cast.book.pk]) in page


def test_the_words_of_unsent_notes_stay_in_the_house(client, cast):
    busy(cast)
    for role in (Role.ILLUSTRATOR, Role.AGENT):
        page = shown(client, cast.seat(role).person)
        assert "moon is missing" not in page and "to decide on" not in page


def test_figures_about_rounds_and_dates_carry_their_caution(client, cast):
    assert "signed contract" in shown(client, cast.illustrator.person)


def test_pictures_are_shown_once_they_are_read(client, cast):
    passage = cast.passage("Pages 4–5", "ideas")
    picture = handed_in(passage, cast.illustrator).pictures.get()
    thumb = reverse("reviews:picture-thumb", args=[picture.pk])
    page = shown(client, cast.art_director.person)
    assert (thumb in page) == HandIn.objects.get(passage=passage).pictures.get().has_preview


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.ART_DIRECTOR])
def test_the_page_takes_at_most_twelve_queries_for_one_book_or_for_three(client, cast, role, django_assert_num_queries):
    busy(cast)
    sign_in(client, cast.seat(role).person)
    # The session, then the desk itself, and for the illustrator's side the consents asked of it.
    n_queries = 11 if role == Role.ILLUSTRATOR else 9
    with django_assert_num_queries(n_queries):
        client.get("/")
    for title in ("Aster Under the Ice", "The Long Ladder"):
        busy(gather(a_book(title=title, n_pages=32)))
    with django_assert_num_queries(n_queries):
        page = client.get("/").content.decode()
    assert "Aster Under the Ice" in page and "The Long Ladder" in page


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION])
@pytest.mark.parametrize("name", ["desk", "book-map"])
def test_the_schedule_is_one_step_from_the_desk_and_from_the_map(client, cast, role, name):
    sign_in(client, cast.seat(role).person)
    page = client.get(reverse(f"reviews:{name}", args=[cast.book.pk] if name == "book-map" else [])).content.decode()
    assert f'href="{reverse("reviews:schedule", args=[cast.book.pk])}"' in page


def test_the_desk_of_an_agent_who_is_asked_for_consent_takes_no_more_queries(client, cast, django_assert_num_queries):
    enter(cast, when_over=WhenOver.AGENT_CONSENT)
    for seed, pages in enumerate(("4–5", "6–7")):
        passage = cast.passage(f"Pages {pages}", "ideas")
        a_round(cast, passage, seed)
        handed_in(passage, cast.illustrator, [seed + 5])
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
    sign_in(client, cast.agent.person)
    client.get("/")  # the rounds are counted and kept
    with django_assert_num_queries(11):
        page = client.get("/").content.decode()
    assert page.count("the fee includes 1") == 2


def test_a_new_account_can_set_up_its_first_book(client):
    sign_in(client, make_person(email="corvin@thimblereed.example", name="Corvin Mallowe", password=PASSWORD))
    assert client.get(reverse("reviews:new-book")).status_code == 200
