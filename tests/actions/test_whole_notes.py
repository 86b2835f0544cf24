"""Notes on the whole spread and the whole book; the printer's error, praise, and looking with nothing to note."""

from __future__ import annotations

import pytest

from reviews.actions import notes
from reviews.models import LedgerEntry, Look, Note
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.notes import reason_words
from reviews.queries.held_check import check_held
from reviews.queries.letters import draft_numbers, same_place_as
from reviews.queries.rounds import allowances_for, rounds_in
from reviews.rules.states import Refused, Role
from tests.cast import Cast, gather
from tests.letter_scene import ELSEWHERE, answered, pinned, sent
from tests.makers import a_book, handed_in
from tests.refusing import refusal

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


@pytest.fixture
def ideas(cast):
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator, [1])
    return passage


def whole(passage, seat, words="The scarf is blue throughout.", *, reach="book", cause="direction", pages="") -> Note:
    picture = passage.hand_ins.filter(number__isnull=False).latest("number").pictures.first()
    return notes.pin_note(
        passage.pk, picture.pk, region=None, words=words, cause=cause, reach=reach, pages=pages, actor=seat
    )


def test_what_is_about_the_whole_is_numbered_before_its_places_and_clashes_with_none(cast, ideas):
    place = pinned(ideas, cast.editor)
    spread = whole(ideas, cast.production, reach="spread")
    assert draft_numbers(cast.book.pk) == {spread.pk: 1, place.pk: 2}
    assert reason_words(spread) == "A new direction, on the whole spread"
    assert same_place_as(place) == []


def test_it_goes_out_and_is_answered_like_any_other(cast, ideas):
    note = whole(ideas, cast.art_director)
    answered(cast, ideas, "ask")
    sent(cast)
    notes.answer_note(note.pk, response="done", actor=cast.illustrator)
    note.refresh_from_db()
    assert (note.state, note.number, note.response) == ("sent", 1, "done")
    assert check_held(cast.book).faults == []


def test_pages_name_the_spreads_it_is_about(cast, ideas):
    note = whole(ideas, cast.art_director, pages="6-9, cover")
    about = {cast.passage(label, "ideas").spread_id for label in ("Pages 6–7", "Pages 8–9", "Cover")}
    assert set(note.concerns) == about
    assert reason_words(note) == "A new direction, on 3 spreads of the book"
    assert not note.is_about(ideas.spread_id)
    assert whole(ideas, cast.art_director).is_about(ideas.spread_id), "without pages it is about all of them"


@pytest.mark.parametrize("pages", ["x", "0", "9-4", "99", "4-99", "-", "1" * 9])
def test_pages_that_are_none_are_refused(cast, ideas, pages):
    assert refusal(whole, ideas, cast.art_director, pages=pages) == "note-pages"
    assert not Note.objects.exists()


def test_another_reach_is_refused(cast, ideas):
    assert refusal(whole, ideas, cast.art_director, reach="shelf") == "note-reach"


def test_praise_is_no_reason_to_ask_and_is_owed_no_answer(cast, ideas):
    note = pinned(ideas, cast.art_director, "His cap is wonderful.", cause="praise")
    answered(cast, ideas, "ask")
    assert refusal(sent, cast) == "ask-without-notes"
    pinned(ideas, cast.art_director, "Who holds the rope?", cause="question", region=ELSEWHERE)
    sent(cast)
    assert refusal(notes.answer_note, note.pk, response="done", actor=cast.illustrator) == "praise-asks-nothing"
    counts = rounds_in([cast.book.pk], allowances_for([cast.passage("Pages 4–5", "ideas")]))
    assert counts[ideas.pk].used == 0, "a question and praise are no round"


def test_only_a_proof_shows_an_error_of_the_printers(cast, ideas):
    assert refusal(pinned, ideas, cast.production, cause="printer") == "printer-at-proof"


def test_looking_with_nothing_to_note_is_told_to_the_house_once(cast, ideas):
    notes.look_over(ideas.pk, actor=cast.editor)
    n_entries = LedgerEntry.objects.count()
    notes.look_over(ideas.pk, actor=cast.editor)
    assert LedgerEntry.objects.count() == n_entries
    entry = LedgerEntry.objects.latest("seq")
    assert entry.sight == "publisher"
    told = "Petra Innisfold looked at hand-in 1 of Pages 4–5, ideas and had nothing to note."
    assert sentence(entry.as_entry()) == told
    assert Look.objects.get().seat == cast.editor


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT])
def test_the_other_side_has_no_look_to_give(cast, ideas, role):
    with pytest.raises(Refused, match="not-yours"):
        notes.look_over(ideas.pk, actor=cast.seat(role))
