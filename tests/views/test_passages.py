"""The review table's page around the pictures: ways to the spread's other stages."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from reviews.pages.review_table import passage_words
from reviews.rules.states import PassageState, Role
from tests.cast import gather, sign_in
from tests.letter_scene import answered, approved, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

STAGES = 'aria-label="Stages of Pages 4–5"'


@pytest.fixture
def cast():
    cast = gather(a_book())
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    return cast


def table(client, person, passage) -> str:
    sign_in(client, person)
    return client.get(reverse("reviews:passage", args=[passage.pk])).content.decode()


def links(page: str) -> str:
    return page.partition(STAGES)[2].partition("</nav>")[0]


def test_the_stages_that_were_begun_lead_to_each_other(client, cast):
    ideas, sketch, line = (cast.passage("Pages 4–5", kind) for kind in ("ideas", "sketch", "line"))
    shown = links(table(client, cast.editor.person, sketch))
    assert reverse("reviews:passage", args=[ideas.pk]) in shown
    assert f'href="{reverse("reviews:passage", args=[sketch.pk])}" aria-current="page"' in shown
    assert reverse("reviews:passage", args=[line.pk]) not in shown, "a stage that is not open yet has nothing to show"


def test_a_picture_is_called_the_approved_one_only_while_it_is(client, cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    for seat in (cast.illustrator, cast.art_director):
        assert "The approved one" in table(client, seat.person, ideas)
    pinned(ideas, cast.editor, "The door is blue now.", cause="text")
    answered(cast, ideas, "ask")
    sent(cast, over=True)
    for seat in (cast.illustrator, cast.art_director):
        assert "The approved one" not in table(client, seat.person, ideas)


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.ART_DIRECTOR])
def test_a_stage_kept_in_the_studio_is_no_way_for_the_publisher(client, cast, role):
    sketch, ink = cast.passage("Pages 4–5", "sketch"), cast.passage("Pages 4–5", "ink")
    handed_in(sketch, cast.illustrator, [2])
    ink.state = PassageState.DRAWING
    ink.save(update_fields=["state"])
    shown = links(table(client, cast.seat(role).person, sketch))
    assert (reverse("reviews:passage", args=[ink.pk]) in shown) == (role == Role.ILLUSTRATOR)


def test_a_guest_of_one_passage_sees_no_way_to_another(client, cast):
    sketch = cast.passage("Pages 4–5", "sketch")
    handed_in(sketch, cast.illustrator, [2])
    guest = cast.invite_guest(sketch)
    page = table(client, guest.person, sketch)
    assert "Pages 4–5" in page and STAGES not in page


def test_the_date_of_an_approved_stage_is_the_day_of_its_approval(client, cast):
    """After a round the date of the redrawing stays with the passage; nobody planned it, and it says nothing now."""
    ideas = cast.passage("Pages 4–5", "ideas")
    ideas.due_on = ideas.planned_on - timedelta(days=40)
    ideas.approved_at = datetime(2026, 11, 24, 9, tzinfo=UTC)
    ideas.save(update_fields=["due_on", "approved_at"])
    page = table(client, cast.editor.person, ideas)
    assert '<time class="day" datetime="2026-11-24">Tue 24 Nov</time><span class="words">approved</span>' in page


def test_only_the_planned_date_is_called_planned(cast):
    line = cast.passage("Pages 4–5", "line")
    words = passage_words(line, seat=cast.art_director)
    assert (words["due_on"], words["due_words"]) == (line.planned_on, "planned")
    line.due_on = date(2027, 6, 1)
    words = passage_words(line, seat=cast.art_director)
    assert (words["due_on"], words["due_words"]) == (date(2027, 6, 1), "hand-in due")
    line.state = PassageState.PASSED
    words = passage_words(line, seat=cast.art_director)
    assert (words["due_on"], words["due_words"]) == (line.planned_on, "planned")


def test_an_approved_table_says_at_the_top_what_a_mark_would_be(client, cast):
    page = table(client, cast.editor.person, cast.passage("Pages 4–5", "ideas"))
    head, _, notes = page.partition("<div data-letter-notes>")
    assert "What you mark now is a new direction or a text change, never a miss of the brief" in head
    assert "What you mark now" not in notes, "it is said once"
    assert "Nothing is asked here yet." not in page
    handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator, [5])
    other = table(client, cast.editor.person, cast.passage("Pages 6–7", "ideas"))
    assert "Nothing is asked here yet." in other and "What you mark now" not in other
    studio = table(client, cast.illustrator.person, cast.passage("Pages 4–5", "ideas"))
    assert "What you mark now" not in studio
