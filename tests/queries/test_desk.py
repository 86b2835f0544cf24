"""The desk of every role: what waits on them, what waits on others, in how many queries."""

from __future__ import annotations

from datetime import date

import pytest
from django.utils import timezone

from reviews.actions import letters, notes
from reviews.actions.second_voice import agree
from reviews.models import HandIn, Letter, Passage, Seat
from reviews.pages.desk import Ask, Desk, desk_of
from reviews.queries.letters import letter_fingerprint
from reviews.rules.states import Answer, Cause, Role
from tests.cast import gather
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db

POINT = {"kind": "point", "points": [[0.4, 0.5]]}


@pytest.fixture
def cast():
    return gather(a_book())


def desk(seat: Seat) -> Desk:
    return desk_of(seat.person)


def ask_for(asks: list[Ask], passage: Passage) -> Ask | None:
    return next((ask for ask in asks if passage.pk in {piece.passage for piece in ask.pieces}), None)


def pin(passage: Passage, author: Seat, cause: Cause = Cause.DIRECTION):
    hand_in = HandIn.objects.filter(passage=passage).latest("number")
    picture = hand_in.pictures.first()
    return notes.pin_note(
        passage.pk, picture.pk, region=POINT, words="The pail is empty here.", cause=cause, actor=author
    )


def answer(cast, passage: Passage, given: Answer) -> Letter:
    hand_in = HandIn.objects.filter(passage=passage).latest("number")
    picture = hand_in.pictures.first().pk if given != Answer.ASK else None
    letters.set_answer(passage.pk, answer=given, picture_id=picture, actor=cast.art_director)
    return Letter.objects.get(book=cast.book, sent_at=None)


def send(cast, *answers: tuple[Passage, Answer]) -> None:
    for passage, given in answers:
        letter = answer(cast, passage, given)
    letters.send_letter(letter.pk, looked_at=letter_fingerprint(letter), over_is_agreed=True, actor=cast.art_director)


class TestIllustrator:
    def test_all_open_spreads_wait_to_be_handed_in_and_the_same_ask_stands_together(self, cast):
        found = desk(cast.illustrator)
        ideas = ask_for(found.mine, cast.passage("Pages 4–5", "ideas"))
        assert ideas.words == "Hand in the ideas"
        assert {piece.label for piece in ideas.pieces} >= {"Pages 4–5", "Pages 6–7", "Front ends 2–3"}
        assert found.others == []

    def test_what_was_handed_in_waits_on_the_art_director(self, cast):
        passage = cast.passage("Pages 4–5", "ideas")
        handed_in(passage, cast.illustrator)
        found = desk(cast.illustrator)
        assert ask_for(found.mine, passage) is None
        other = ask_for(found.others, passage)
        assert other.words == "With the art director" and other.since is not None

    def test_a_letter_comes_back_with_the_number_of_its_notes(self, cast):
        passage = cast.passage("Pages 4–5", "ideas")
        handed_in(passage, cast.illustrator)
        pin(passage, cast.editor)
        pin(passage, cast.art_director)
        send(cast, (passage, Answer.ASK))
        ask = ask_for(desk(cast.illustrator).mine, passage)
        assert ask.words == "Answer the letter, then hand in the ideas again"
        assert ask.detail == "2 notes without an answer"
        assert ask.first.rounds == {"used": 1, "included": 1, "left": 0, "over": 0}

    def test_unsent_notes_leave_no_trace_on_it(self, cast):
        passage = cast.passage("Pages 4–5", "ideas")
        handed_in(passage, cast.illustrator)
        before = desk(cast.illustrator)
        pin(passage, cast.editor)
        answer(cast, passage, Answer.ASK)
        for seat in (cast.illustrator, cast.agent):
            assert "note" not in str([(ask.words, ask.detail) for ask in desk(seat).others])
        assert [(ask.words, ask.detail) for ask in desk(cast.illustrator).others] == [
            (ask.words, ask.detail) for ask in before.others
        ]

    def test_a_draft_is_remembered(self, cast):
        passage = cast.passage("Pages 4–5", "ideas")
        draft(passage, cast.illustrator)
        assert Passage.objects.get(pk=passage.pk).state == "drawing"
        asks = [ask for ask in desk(cast.illustrator).mine if ask.stage_name == "Ideas"]
        assert any(ask.detail.startswith("Your draft is not handed in yet (1 of ") for ask in asks)


class TestArtDirector:
    def test_a_hand_in_waits_to_be_answered_with_its_notes_counted(self, cast):
        passage = cast.passage("Pages 4–5", "ideas")
        handed_in(passage, cast.illustrator)
        assert ask_for(desk(cast.art_director).mine, passage).detail == "Nobody has marked it yet"
        pin(passage, cast.editor)
        ask = ask_for(desk(cast.art_director).mine, passage)
        assert (ask.words, ask.detail) == ("Answer the ideas", "1 note to decide on")

    def test_an_answer_that_is_written_waits_in_its_letter_and_nowhere_else(self, cast):
        passage = cast.passage("Pages 4–5", "ideas")
        handed_in(passage, cast.illustrator)
        pin(passage, cast.editor)
        answer(cast, passage, Answer.ASK)
        found = desk(cast.art_director)
        (letter,) = [ask for ask in found.mine if passage.pk in {piece.passage for piece in ask.pieces}]
        assert letter.is_letter and letter.words == "Send the letter"
        assert letter.due_on == Passage.objects.get(pk=passage.pk).answer_due_on

    def test_a_letter_that_reopens_something_approved_waits_too(self, cast):
        ideas = cast.passage("Pages 4–5", "ideas")
        handed_in(ideas, cast.illustrator)
        send(cast, (ideas, Answer.APPROVE))
        pin(ideas, cast.art_director, Cause.DIRECTION)
        answer(cast, ideas, Answer.ASK)
        (letter,) = [ask for ask in desk(cast.art_director).mine if ask.is_letter]
        assert [piece.passage for piece in letter.pieces] == [ideas.pk]
        assert not any(ask.is_letter for ask in desk(cast.editor).mine)

    def test_an_approval_that_wants_a_second_voice_waits_on_the_editor(self, cast):
        sketch = at_sketch(cast)
        send(cast, (sketch, Answer.APPROVE))
        assert ask_for(desk(cast.art_director).mine, sketch) is None
        assert ask_for(desk(cast.art_director).others, sketch).words == "With the editor"


def at_sketch(cast) -> Passage:
    ideas, sketch = cast.passage("Pages 4–5", "ideas"), cast.passage("Pages 4–5", "sketch")
    handed_in(ideas, cast.illustrator)
    send(cast, (ideas, Answer.APPROVE))
    handed_in(sketch, cast.illustrator, seeds=(7,))
    return sketch


class TestEditor:
    def test_a_stage_with_two_voices_waits_until_the_editor_has_spoken(self, cast):
        sketch = at_sketch(cast)
        ask = ask_for(desk(cast.editor).mine, sketch)
        assert ask.words == "Mark it, and say whether you agree"
        agree(HandIn.objects.get(passage=sketch).pk, actor=cast.editor)
        assert ask_for(desk(cast.editor).mine, sketch) is None
        assert ask_for(desk(cast.editor).others, sketch).words == "With the art director"

    def test_a_waiting_approval_says_so(self, cast):
        sketch = at_sketch(cast)
        send(cast, (sketch, Answer.APPROVE))
        ask = ask_for(desk(cast.editor).mine, sketch)
        assert ask.words == "Agree or object" and "The art director approved it" in ask.detail

    def test_marking_is_done_once_a_note_is_pinned(self, cast):
        passage = cast.passage("Pages 4–5", "ideas")
        handed_in(passage, cast.illustrator)
        assert ask_for(desk(cast.editor).mine, passage).words == "Mark the ideas against the text"
        pin(passage, cast.editor)
        other = ask_for(desk(cast.editor).others, passage)
        assert other.detail == "You added 1 note"


class TestAgent:
    def test_nothing_needs_an_eye_while_all_is_within_the_contract(self, cast):
        future(cast)
        assert desk(cast.agent).mine == []

    def test_lateness_shows_on_the_side_that_is_late(self, cast):
        future(cast)
        late, answered = cast.passage("Pages 4–5", "ideas"), cast.passage("Pages 6–7", "ideas")
        handed_in(answered, cast.illustrator)
        Passage.objects.filter(pk=late.pk).update(due_on=date(2026, 1, 5))
        Passage.objects.filter(pk=answered.pk).update(answer_due_on=date(2026, 1, 6))
        found = desk(cast.agent)
        assert [ask.words for ask in found.mine] == [
            "The illustrator’s hand-in is late",
            "The publisher’s answer is late",
        ]
        assert found.only_watches

    def test_a_round_over_the_fee_shows(self, cast):
        future(cast)
        passage = cast.passage("Pages 4–5", "ideas")
        for seed in (1, 2):
            handed_in(passage, cast.illustrator, seeds=(seed,))
            pin(passage, cast.editor)
            send(cast, (passage, Answer.ASK))
        assert ask_for(desk(cast.agent).mine, passage).words == "1 round over the fee"


def future(cast) -> None:
    """Nothing of the book is late on any day these tests may run."""
    Passage.objects.filter(book=cast.book).update(due_on=date(2099, 1, 5))


class TestOthers:
    def test_production_is_asked_at_finish_and_proof_only(self, cast):
        passage = cast.passage("Pages 4–5", "ideas")
        handed_in(passage, cast.illustrator)
        assert desk(cast.production).mine == []
        finish = cast.passage("Cover", "finish")
        hand_in = HandIn.objects.get(passage=passage)
        Passage.objects.filter(pk=finish.pk).update(state="answering", hand_in=hand_in, held_since=timezone.now())
        assert ask_for(desk(cast.production).mine, finish).words == "Check the special finish"

    def test_a_guest_has_one_passage_and_no_rounds(self, cast):
        ideas = cast.passage("Cover", "ideas")
        handed_in(ideas, cast.illustrator)
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
        found = desk(cast.invite_guest(ideas))
        assert found.only_passage == ideas.pk
        assert [piece.passage for ask in found.mine + found.others for piece in ask.pieces] == [ideas.pk]
        assert found.mine[0].first.rounds is None
        assert found.books == []

    def test_a_stranger_has_an_empty_desk(self, cast):
        found = desk_of(cast.stranger)
        assert (found.mine, found.others, found.books, found.seats) == ([], [], [], [])

    def test_an_ended_seat_takes_its_book_off_the_desk(self, cast):
        Seat.objects.filter(pk=cast.agent.pk).update(ended_at=timezone.now())
        assert desk(cast.agent).books == []

    def test_a_hidden_stage_shows_its_picture_to_the_illustrator_alone(self, cast):
        for kind in ("ideas", "sketch"):
            passage = cast.passage("Pages 4–5", kind)
            handed_in(passage, cast.illustrator, seeds=(len(kind),))
            if kind == "sketch":
                agree(HandIn.objects.get(passage=passage).pk, actor=cast.editor)
            send(cast, (passage, Answer.APPROVE))
        handed_in(cast.passage("Pages 4–5", "line"), cast.illustrator, seeds=(8,))
        hidden = handed_in(cast.passage("Pages 4–5", "ink"), cast.illustrator, seeds=(9,)).pictures.get()
        colour = cast.passage("Pages 4–5", "colour")
        shown = {}
        for seat in (cast.illustrator, cast.art_director, cast.agent, cast.editor, cast.production):
            found = desk(seat)
            ask = ask_for(found.mine + found.others, colour)
            shown[Role(seat.role)] = ask.pieces if ask else ()
        mine = {piece.picture.picture for piece in shown[Role.ILLUSTRATOR] if piece.passage == colour.pk}
        assert mine == {hidden.pk}
        for role in (Role.ART_DIRECTOR, Role.AGENT, Role.EDITOR):
            pictures = {piece.picture.picture for piece in shown[role] if piece.passage == colour.pk}
            assert pictures and hidden.pk not in pictures, role


def test_the_soonest_comes_first_across_books(cast):
    other = gather(a_book(title="Aster Under the Ice", start_on=date(2026, 6, 1)))
    handed_in(other.passage("Pages 4–5", "ideas"), other.illustrator)
    days = [ask.due_on for ask in desk(cast.illustrator).mine]
    assert days == sorted(days) and len({ask.book.pk for ask in desk(cast.illustrator).mine}) == 2


@pytest.mark.parametrize(
    "seat", [role.value for role in (Role.ILLUSTRATOR, Role.ART_DIRECTOR, Role.EDITOR, Role.AGENT)]
)
def test_it_takes_eight_queries_for_one_book_or_for_three(cast, seat, django_assert_num_queries):
    def fill(cast) -> None:
        for label in ("Cover", "Pages 4–5", "Pages 6–7"):
            handed_in(cast.passage(label, "ideas"), cast.illustrator)
            pin(cast.passage(label, "ideas"), cast.editor)
        answer(cast, cast.passage("Cover", "ideas"), Answer.ASK)

    fill(cast)
    person = getattr(cast, seat).person
    with django_assert_num_queries(8):
        desk_of(person)
    for title in ("Aster Under the Ice", "The Long Ladder"):
        fill(gather(a_book(title=title, n_pages=32)))
    with django_assert_num_queries(8):
        assert len(desk_of(person).books) == 3
