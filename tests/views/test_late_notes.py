"""Notes that came after their spread was answered: kept for the next letter or dismissed, and said in words."""

import pytest
from django.urls import reverse

from reviews.models import Note
from reviews.queries.letters import letter_fingerprint
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.letter_scene import ELSEWHERE, answered, draft_of, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def late(cast, client):
    """A note that came while the letter was read, and was left for a later one."""
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator)
    pinned(ideas, cast.editor)
    answered(cast, ideas, "ask")
    draft = draft_of(cast)
    note = pinned(ideas, cast.production, "Less dark.", region=ELSEWHERE)
    sign_in(client, cast.art_director.person)
    url = reverse("reviews:send-letter", args=[draft.pk])
    client.post(url, {"looked_at": letter_fingerprint(draft), "leave": [note.pk]})
    note.refresh_from_db()
    assert (note.state, draft.notes.count()) == ("unsent", 1)
    return note


def draft_page(cast, client) -> str:
    sign_in(client, cast.art_director.person)
    return client.get(reverse("reviews:draft-letter", args=[cast.book.pk])).content.decode()


def decide(cast, client, note, weighing: str) -> str:
    sign_in(client, cast.art_director.person)
    given = {"weighing": weighing, "letter_words": note.words}
    return client.post(reverse("reviews:weigh-note", args=[note.pk]), given, follow=True).content.decode()


def test_it_is_offered_apart_and_no_answer_is_that_would_be_refused(cast, client, late):
    page = draft_page(cast, client)
    assert "Notes for a later letter" in page and "Dismiss" in page and "Keep for the next letter" in page
    assert 'name="answer"' not in page, "the spread is with the illustrator"


def test_kept_it_goes_with_the_letter_that_answers_the_next_hand_in(cast, client, late):
    page = decide(cast, client, late, "through")
    assert "The note is kept for the letter that answers the next hand-in." in page
    assert "Kept for the next letter." in page
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator, [2])
    page = draft_page(cast, client)
    assert "Notes for a later letter" not in page and 'name="answer"' in page
    answered(cast, ideas, "ask")
    sent(cast, over=True)
    late.refresh_from_db()
    assert (late.state, late.number) == ("sent", 1)


def test_dismissed_it_leaves_the_draft_and_goes_into_no_letter_unless_included(cast, client, late):
    page = decide(cast, client, late, "held")
    assert "The note is dismissed. After the next hand-in it is listed as left out, and can still be included." in page
    assert "Less dark." not in draft_page(cast, client)
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator, [2])
    page = draft_page(cast, client)
    assert "Less dark." in page and "Include it" in page
    answered(cast, ideas, "approve")
    letter = sent(cast)
    assert Note.objects.get(pk=late.pk).state == "held_back"
    sign_in(client, cast.seat(Role.ILLUSTRATOR).person)
    assert "Less dark." not in client.get(reverse("reviews:letter", args=[letter.pk])).content.decode()
