"""From every spread to the one before and the one after: at the same stage, past what a seat may not see."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from reviews.actions.hand_ins import hand_in
from reviews.models import Passage
from reviews.rules.states import Gate, PassageState, Role, StageKind
from tests.cast import gather, sign_in
from tests.letter_scene import approved
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


def ways(client, seat, passage) -> dict[str, str | None]:
    """Read where the links of a table lead: before and after, each as an address or None."""
    sign_in(client, seat.person)
    page = client.get(reverse("reviews:passage", args=[passage.pk])).content.decode()
    return {rel: next(iter(re.findall(rf'href="([^"]+)" rel="{rel}"', page)), None) for rel in ("prev", "next")}


def at(passage: Passage) -> str:
    return reverse("reviews:passage", args=[passage.pk])


@pytest.mark.parametrize("role", [Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION])
def test_each_table_leads_to_its_neighbours_at_the_same_stage(client, cast, role):
    ideas = [cast.passage(f"Pages {pages}", "ideas") for pages in ("4–5", "6–7", "8–9")]
    approved(cast, ideas[1], 1)  # its sketch is open now
    for seed, passage in ((0, ideas[0]), (2, ideas[2])):
        handed_in(passage, cast.illustrator, [seed])
    handed_in(cast.passage("Pages 6–7", "sketch"), cast.illustrator, [3])
    seat = cast.seat(role)
    assert ways(client, seat, ideas[0]) == {"prev": None, "next": at(ideas[1])}, "the ideas, though a sketch is newer"
    assert ways(client, seat, ideas[1]) == {"prev": at(ideas[0]), "next": at(ideas[2])}
    assert ways(client, seat, ideas[2]) == {"prev": at(ideas[1]), "next": None}
    # At a stage that the neighbours have not come to, they are shown as they are.
    sketch = cast.passage("Pages 6–7", "sketch")
    assert ways(client, seat, sketch) == {"prev": at(ideas[0]), "next": at(ideas[2])}


def test_a_spread_on_which_nothing_lies_yet_leads_on_too(client, cast):
    ideas = [cast.passage(f"Pages {pages}", "ideas") for pages in ("4–5", "6–7", "8–9")]
    for seed, passage in ((0, ideas[0]), (2, ideas[2])):
        handed_in(passage, cast.illustrator, [seed])
    assert ways(client, cast.art_director, ideas[1]) == {"prev": at(ideas[0]), "next": at(ideas[2])}


def test_a_stage_kept_in_the_studio_is_no_way_for_the_publisher(client, cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator, [0])
    ink = cast.passage("Pages 6–7", "ink")
    assert ink.stage.gate == Gate.HIDDEN
    Passage.objects.filter(pk=ink.pk).update(state=PassageState.DRAWING)
    hand_in(draft(ink, cast.illustrator, [1]).pk, cover_note="", actor=cast.illustrator)
    assert ways(client, cast.illustrator, ideas)["next"] == at(ink)
    for seat in (cast.art_director, cast.editor, cast.production, cast.agent):
        assert ways(client, seat, ideas)["next"] is None, seat.role


def test_sales_turn_from_the_cover_to_what_is_approved_and_a_guest_to_nothing(client, cast):
    cover, shown, under_way = (cast.passage(label, "ideas") for label in ("Cover", "Pages 6–7", "Pages 4–5"))
    handed_in(under_way, cast.illustrator, [0])
    approved(cast, shown, 1)
    handed_in(cover, cast.illustrator, [2])
    guest, sales = cast.invite_guest(cover), cast.seat_advisers()[Role.SALES]
    assert ways(client, sales, cover) == {"prev": None, "next": at(shown)}
    assert ways(client, guest, cover) == {"prev": None, "next": None}


def test_the_queries_do_not_grow_with_the_spreads(client, cast, django_assert_num_queries):
    first = cast.passage("Pages 4–5", "ideas")
    handed_in(first, cast.illustrator, [0])
    sign_in(client, cast.art_director.person)
    client.get(at(first))  # that it lay open is kept once
    with django_assert_num_queries(10):
        client.get(at(first))
    for seed, passage in enumerate(
        Passage.objects.filter(book=cast.book, stage__kind=StageKind.IDEAS).exclude(pk=first.pk), 1
    ):
        handed_in(passage, cast.illustrator, [seed])
    with django_assert_num_queries(10):
        assert 'rel="next"' in client.get(at(first)).content.decode()
