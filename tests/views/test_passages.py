"""The review table's page around the pictures: ways to the spread's other stages."""

from __future__ import annotations

import pytest
from django.urls import reverse

from reviews.rules.states import PassageState, Role
from tests.cast import gather, sign_in
from tests.letter_scene import approved
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
