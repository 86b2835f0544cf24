"""The letter being written, folded: open where something is to be decided, and every answer in sight."""

import re

import pytest
from django.urls import reverse

from reviews.actions import letters
from reviews.rules.states import Role
from tests.cast import gather, sign_in
from tests.letter_scene import ELSEWHERE, answered, pinned
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db
LABELS = ("Pages 4–5", "Pages 6–7", "Pages 8–9")


@pytest.fixture
def cast():
    cast = gather(a_book())
    for label, seeds in zip(LABELS, ([1], [2], [3, 4]), strict=True):
        handed_in(cast.passage(label, "ideas"), cast.illustrator, seeds)
    return cast


def page_of(client, cast, asked: str = "", role: Role = Role.ART_DIRECTOR) -> str:
    sign_in(client, cast.seat(role).person)
    return client.get(reverse("reviews:draft-letter", args=[cast.book.pk]) + asked).content.decode()


def standing_open(client, cast, asked: str = "") -> set[str]:
    page = page_of(client, cast, asked)
    by_pk = {cast.passage(label, "ideas").pk: label for label in LABELS}
    return {by_pk[int(pk)] for pk in re.findall(r'id="fold-(\d+)" data-fold open', page)}


def test_a_plain_spread_is_a_line_and_a_choice_between_options_stands_open(client, cast):
    assert standing_open(client, cast) == {"Pages 8–9"}
    page = page_of(client, cast)
    assert "2 options, no notes" in page
    assert page.count("</details>") and all(
        page.count(f'name="answer" value="{one}"') == 3 for one in ("approve", "ask")
    )
    for folded in re.findall(r"<details class=\"fold\".*?</details>", page, re.S):
        assert 'name="answer"' not in folded, "the answer is in sight however the spread is folded"


def test_a_note_opens_its_spread_until_it_is_approved_and_what_is_asked_for_stays_in_sight(client, cast):
    pinned(cast.passage("Pages 4–5", "ideas"), cast.editor)
    assert standing_open(client, cast) == {"Pages 4–5", "Pages 8–9"}
    answered(cast, cast.passage("Pages 4–5", "ideas"), "approve_small")
    assert standing_open(client, cast) == {"Pages 8–9"}
    answered(cast, cast.passage("Pages 4–5", "ideas"), "ask")
    answered(cast, cast.passage("Pages 6–7", "ideas"), "ask")
    assert standing_open(client, cast) == {"Pages 4–5", "Pages 6–7", "Pages 8–9"}


def test_where_people_differ_the_spread_stays_open_and_says_so(client, cast):
    passage = cast.passage("Pages 4–5", "ideas")
    first = pinned(passage, cast.editor, "Longer.")
    pinned(passage, cast.production, "Shorter.")
    held = pinned(passage, cast.production, "A whim.", region=ELSEWHERE)
    letters.weigh_note(held.pk, weighing="held", actor=cast.art_director)
    answered(cast, passage, "approve_small")
    assert "Pages 4–5" in standing_open(client, cast)
    page = page_of(client, cast)
    assert "2 notes, 1 left out" in page and "1 place where people differ" in page
    letters.settle_overlap(first.pk, others="held", letter_words="", actor=cast.art_director)
    assert "Pages 4–5" not in standing_open(client, cast)


def test_an_answer_to_an_older_hand_in_opens_its_spread(client, cast):
    passage = cast.passage("Pages 4–5", "ideas")
    answered(cast, passage, "approve")
    assert "Pages 4–5" not in standing_open(client, cast)
    sign_in(client, cast.illustrator.person)
    client.post(reverse("reviews:withdraw-hand-in", args=[passage.hand_in_id]), {"reason": "The wrong file."})
    handed_in(passage, cast.illustrator, [9])
    assert "Pages 4–5" in standing_open(client, cast)


def test_the_way_from_the_table_or_from_a_decision_comes_to_an_open_spread(client, cast):
    passage = cast.passage("Pages 4–5", "ideas")
    note = pinned(passage, cast.editor)
    answered(cast, passage, "approve_small")
    sign_in(client, cast.art_director.person)
    table = client.get(reverse("reviews:passage", args=[passage.pk]))
    [way] = [deed["url"] for deed in table.context["deeds"] if deed["label"] == "Go to the letter"]
    asked = way.partition("/letter/")[2].partition("#")[0]
    assert "Pages 4–5" in standing_open(client, cast, asked)
    posted = client.post(reverse("reviews:weigh-note", args=[note.pk]), {"weighing": "through", "letter_words": "So."})
    assert f"?open={passage.pk}#weigh-{note.pk}" in posted.url
    assert "Pages 4–5" not in standing_open(client, cast, "?open=nonsense")
