"""The notes of the last letter ride on the hand-in that answers it, in the letter being written about it."""

import re

import pytest
from django.urls import reverse

from reviews.actions import letters, notes
from reviews.models import CarriedNote, Comparison, Note
from tests.cast import gather, sign_in
from tests.letter_scene import ELSEWHERE, answered, draft_of, opened, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    """Two notes asked for on pages 4–5, a second hand-in there, and a first one on pages 6–7."""
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator, [1])
    pinned(passage, cast.art_director, "A taller pail.")
    pinned(passage, cast.art_director, "More reeds.", region=ELSEWHERE)
    answered(cast, passage, "ask")
    sent(cast)
    handed_in(passage, cast.illustrator, [2])
    handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator, [3])
    return cast


def answer(cast, *responses: str) -> None:
    for note, response in zip(Note.objects.order_by("number"), responses, strict=True):
        words = "" if response == "done" else "The bank is too low for it."
        notes.answer_note(note.pk, response=response, words=words, actor=cast.illustrator)


def page_of(client, cast):
    sign_in(client, cast.art_director.person)
    return client.get(reverse("reviews:draft-letter", args=[cast.book.pk]))


def carried_as(cast, *, verdict: str) -> None:
    """Stand in for the worker: the newest hand-in was compared, and this was seen where the first note is."""
    passage = cast.passage("Pages 4–5", "ideas")
    passage.refresh_from_db()
    row = Comparison.objects.create(sha256_a="a" * 64, sha256_b="b" * 64, width_um=1, method="m")
    CarriedNote.objects.create(
        note=Note.objects.get(number=1),
        picture=passage.hand_in.pictures.get(),
        comparison=row,
        state="here",
        region={},
        by_page={},
        verdict=verdict,
        score=0,
    )


def test_the_card_shows_the_last_notes_with_their_answers_and_stands_open(cast, client):
    answer(cast, "not_done", "done")
    page = page_of(client, cast).content.decode()
    assert "no new notes, 2 of the last letter" in page and "1 not met" in page
    [told] = re.findall(r'<section class="last-notes".*?</section>', page, re.S)
    for words in ("A taller pail.", "Not done", "The bank is too low for it.", "More reeds.", "1.1", "1.2"):
        assert words in told
    assert f'id="fold-{cast.passage("Pages 4–5", "ideas").pk}" data-fold open' in page


@pytest.mark.parametrize(
    ("responses", "verdict", "names"),
    [
        (("done", "done"), "touched", "Pages 6–7, ideas"),  # something was found to differ: it wants a look
        (("done", "done"), "untouched", "Pages 6–7, ideas"),
        (("done", "not_done"), "touched", "Pages 6–7, ideas"),
        (("done", "question"), "touched", "Pages 6–7, ideas"),
        ((), "touched", "Pages 6–7, ideas"),
    ],
)
def test_approving_all_names_its_spreads_asks_and_leaves_out_what_is_not_met(cast, client, responses, verdict, names):
    if responses:
        answer(cast, *responses)
    carried_as(cast, verdict=verdict)
    opened(cast, cast.passage("Pages 4–5", "ideas"), cast.passage("Pages 6–7", "ideas"))
    page = page_of(client, cast)
    assert f'data-ask="Approve {names} in this letter? Nothing is sent yet."' in page.content.decode()
    every = [passage.passage.pk for passage in page.context["draft"].waiting]
    letters.approve_waiting(cast.book.pk, named=every, actor=cast.art_director)
    assert "; ".join(a.passage.where for a in draft_of(cast).answers.order_by("passage__spread__position")) == names


def test_only_what_the_screen_named_is_approved(cast, client):
    page_of(client, cast)
    opened(cast, cast.passage("Pages 6–7", "ideas"))
    named = cast.passage("Pages 6–7", "ideas").pk
    url = reverse("reviews:approve-waiting", args=[cast.book.pk])
    handed_in(cast.passage("Pages 8–9", "ideas"), cast.illustrator, [4])
    opened(cast, cast.passage("Pages 8–9", "ideas"))
    client.post(url, {"passage": [named]})
    assert list(draft_of(cast).answers.values_list("passage_id", flat=True)) == [named]
    assert client.post(url, {"passage": ["one"]}, follow=True).status_code < 500


def test_notes_of_the_newest_hand_in_or_of_an_older_letter_are_not_the_last_ones(cast, client):
    passage = cast.passage("Pages 4–5", "ideas")
    pinned(passage, cast.art_director, "Now wider.")
    answered(cast, passage, "ask")
    sent(cast, over=True)
    handed_in(passage, cast.illustrator, [5])
    [waiting] = [w for w in page_of(client, cast).context["draft"].waiting if w.passage.pk == passage.pk]
    assert [(note.mark, note.row.words) for note in waiting.last_notes] == [("2.1", "Now wider.")]
