"""The letter as a deed: what it takes with it, what it leaves, what it refuses."""

import pytest

from reviews.actions import letters
from reviews.models import Job, LedgerEntry, Letter, Note, Notice
from reviews.queries.letters import letter_fingerprint
from reviews.rules.states import Deed, NoteState, PassageState, Refused
from tests.cast import gather
from tests.letter_scene import ELSEWHERE, a_round, answered, approved, draft_of, opened, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def ideas(cast):
    return cast.passage("Pages 4–5", "ideas")


def refusal(deed, *args, **kwargs) -> str:
    with pytest.raises(Refused) as refused:
        deed(*args, **kwargs)
    return refused.value.code


def test_sending_takes_the_notes_let_through_and_leaves_the_others_in_the_house(cast, ideas):
    handed_in(ideas, cast.illustrator)
    going, held = pinned(ideas, cast.editor), pinned(ideas, cast.production, "Too dark.", region=ELSEWHERE)
    letters.weigh_note(held.pk, weighing="held", actor=cast.art_director)
    letters.weigh_note(going.pk, weighing="through", letter_words="Turn her head to the moon.", actor=cast.art_director)
    answered(cast, ideas, "ask")
    letter = sent(cast)
    going.refresh_from_db(), held.refresh_from_db(), ideas.refresh_from_db()
    assert (going.state, going.number, going.letter_id) == ("sent", 1, letter.pk)
    assert (going.words, going.said) == ("Turn her head.", "Turn her head to the moon.")
    assert (held.state, held.number) == ("held_back", None)
    assert ideas.state == PassageState.DRAWING
    assert letter.number == 1


def test_a_note_on_a_spread_without_an_answer_stays_unsent(cast, ideas):
    other = cast.passage("Pages 6–7", "ideas")
    for seed, passage in enumerate((ideas, other)):
        handed_in(passage, cast.illustrator, [seed])
    waiting = pinned(other, cast.editor)
    answered(cast, ideas, "approve")
    sent(cast)
    waiting.refresh_from_db()
    assert (waiting.state, waiting.letter_id) == ("unsent", None)


def test_an_approval_freezes_the_fingerprint_and_opens_the_next_stage(cast, ideas):
    handed = handed_in(ideas, cast.illustrator, [3])
    answered(cast, ideas, "approve")
    sent(cast)
    ideas.refresh_from_db()
    assert (ideas.state, ideas.approved_sha256) == (PassageState.APPROVED, handed.pictures.get().sha256)
    assert cast.passage("Pages 4–5", "sketch").state == PassageState.DRAWING


def test_several_pictures_need_a_choice(cast, ideas):
    handed_in(ideas, cast.illustrator, [1, 2])
    assert refusal(letters.set_answer, ideas.pk, answer="approve", actor=cast.art_director) == "choose-the-picture"
    answered(cast, ideas, "approve")
    assert draft_of(cast).answers.get().picture.position == 1


def test_a_letter_beyond_the_fee_needs_a_yes(cast, ideas):
    a_round(cast, ideas, 1)
    handed_in(ideas, cast.illustrator, [2])
    pinned(ideas, cast.art_director)
    answered(cast, ideas, "ask")
    assert refusal(sent, cast) == "over-needs-yes"
    assert sent(cast, over=True).number == 2


def test_a_change_to_something_approved_is_a_new_wish_and_needs_a_yes(cast, ideas):
    approved(cast, ideas, 1)
    assert refusal(pinned, ideas, cast.editor, cause="brief") == "brief-after-approval"
    pinned(ideas, cast.editor, "The door is blue now.", cause="text")
    answered(cast, ideas, "ask")
    assert refusal(sent, cast) == "over-needs-yes"
    sent(cast, over=True)
    entry = LedgerEntry.objects.filter(deed=Deed.SEND_LETTER).last()
    assert entry.data["answers"][0]["reopened"] is True
    ideas.refresh_from_db()
    assert ideas.state == PassageState.DRAWING


def test_what_changed_since_it_was_looked_at_is_not_sent(cast, ideas):
    handed_in(ideas, cast.illustrator)
    pinned(ideas, cast.editor)
    answered(cast, ideas, "ask")
    looked_at = letter_fingerprint(draft_of(cast))
    pinned(ideas, cast.production, "One more thing.", region=ELSEWHERE)
    code = refusal(letters.send_letter, draft_of(cast).pk, looked_at=looked_at, actor=cast.art_director)
    assert code == "letter-changed"
    assert not Note.objects.filter(state="sent").exists()


def test_a_second_press_sends_nothing_twice(cast, ideas):
    handed_in(ideas, cast.illustrator)
    answered(cast, ideas, "approve")
    letter, looked_at = draft_of(cast), letter_fingerprint(draft_of(cast))
    letters.send_letter(letter.pk, looked_at=looked_at, actor=cast.art_director)
    again = refusal(letters.send_letter, letter.pk, looked_at=looked_at, actor=cast.art_director)
    assert again == "letter-sent"
    assert LedgerEntry.objects.filter(deed=Deed.SEND_LETTER).count() == 1


def test_a_hand_in_withdrawn_meanwhile_cannot_be_answered(cast, ideas):
    from reviews.actions.hand_ins import withdraw_hand_in

    handed = handed_in(ideas, cast.illustrator)
    answered(cast, ideas, "approve")
    withdraw_hand_in(handed.pk, "The wrong file.", actor=cast.illustrator)
    assert refusal(sent, cast) in {"nothing-handed-in", "handed-in-since"}
    handed_in(ideas, cast.illustrator, [5])
    assert refusal(sent, cast) == "handed-in-since"
    answered(cast, ideas, "approve")
    assert sent(cast).number == 1


def test_an_empty_letter_does_not_go(cast):
    letters.word_letter(cast.book.pk, "Dear Juniper,", actor=cast.art_director)
    assert refusal(sent, cast) == "letter-empty"


def test_only_the_art_director_writes_and_sends(cast, ideas):
    handed_in(ideas, cast.illustrator)
    answered(cast, ideas, "approve")
    for seat in (cast.editor, cast.illustrator, cast.agent, cast.production):
        assert refusal(letters.set_answer, ideas.pk, answer="approve", actor=seat) == "not-yours"
        assert refusal(letters.word_letter, cast.book.pk, "Mine", actor=seat) == "not-yours"
        draft = draft_of(cast)
        assert refusal(letters.send_letter, draft.pk, looked_at=letter_fingerprint(draft), actor=seat) == "not-yours"


def test_everybody_it_concerns_is_owed_one_mail_and_the_paper_is_asked_for(cast, ideas):
    letter = approved(cast, ideas, 1)
    entry = LedgerEntry.objects.get(deed=Deed.SEND_LETTER)
    owed = set(Notice.objects.filter(entry=entry).values_list("person__email", flat=True))
    assert owed == {seat.person.email for seat in (cast.illustrator, cast.editor, cast.agent, cast.production)}
    assert Job.objects.filter(kind="letter-paper", subject_id=letter.pk).count() == 1


def test_approving_all_that_wait_leaves_what_needs_a_decision(cast):
    plain, noted, several, given = (cast.passage(f"Pages {p}", "ideas") for p in ("4–5", "6–7", "8–9", "10–11"))
    for seed, passage in enumerate((plain, noted, given)):
        handed_in(passage, cast.illustrator, [seed])
    handed_in(several, cast.illustrator, [7, 8])
    pinned(noted, cast.editor)
    pinned(given, cast.editor)
    answered(cast, given, "ask")
    every = [passage.pk for passage in (plain, noted, several, given)]
    assert letters.approve_waiting(cast.book.pk, named=every, actor=cast.art_director) == 0, "nobody has opened any"
    opened(cast, plain, noted, several, given)
    assert letters.approve_waiting(cast.book.pk, named=every[1:], actor=cast.art_director) == 0
    assert letters.approve_waiting(cast.book.pk, named=every, actor=cast.art_director) == 1
    answers = dict(draft_of(cast).answers.values_list("passage_id", "answer"))
    assert answers == {plain.pk: "approve", given.pk: "ask"}
    assert letters.approve_waiting(cast.book.pk, named=every, actor=cast.art_director) == 0
    assert refusal(letters.approve_waiting, cast.book.pk, named=every, actor=cast.editor) == "not-yours"


def test_deciding_between_two_notes_holds_the_other_back(cast, ideas):
    handed_in(ideas, cast.illustrator)
    one, other = pinned(ideas, cast.editor, "Longer."), pinned(ideas, cast.production, "Shorter.")
    apart = pinned(ideas, cast.production, "Elsewhere.", region=ELSEWHERE)
    letters.settle_overlap(one.pk, others="held", letter_words="Longer, please.", actor=cast.art_director)
    for note in (one, other, apart):
        note.refresh_from_db()
    assert (one.weighing, other.weighing, apart.weighing) == ("through", "held", "through")
    assert one.said == "Longer, please."
    letters.settle_overlap(other.pk, others="through", letter_words="", actor=cast.art_director)
    assert set(Note.objects.values_list("weighing", flat=True)) == {"through"}


def test_a_decision_between_notes_that_cannot_be_taken_whole_is_not_taken_at_all(cast, ideas, monkeypatch):
    handed_in(ideas, cast.illustrator)
    one, other = pinned(ideas, cast.editor, "Longer."), pinned(ideas, cast.production, "Shorter.")

    def withdrawn_meanwhile(note: Note) -> list[Note]:
        Note.objects.filter(pk=other.pk).update(state=NoteState.WITHDRAWN)
        return [other]

    monkeypatch.setattr(letters, "same_place_as", withdrawn_meanwhile)
    n_entries = LedgerEntry.objects.count()
    decide = {"others": "held", "letter_words": "Longer, please.", "actor": cast.art_director}
    assert refusal(letters.settle_overlap, one.pk, **decide) == "note-is-gone"
    one.refresh_from_db()
    assert (one.letter_words, one.said) == ("", "Longer.")
    assert LedgerEntry.objects.count() == n_entries
    assert not Letter.objects.exists()


def test_each_note_of_one_decision_has_its_entry_at_the_same_moment(cast, ideas):
    handed_in(ideas, cast.illustrator)
    one, other = pinned(ideas, cast.editor, "Longer."), pinned(ideas, cast.production, "Shorter.")
    letters.settle_overlap(one.pk, others="held", letter_words="", actor=cast.art_director)
    entries = LedgerEntry.objects.filter(deed=Deed.WEIGH_NOTE).order_by("seq")
    assert [entry.data["note"] for entry in entries] == [one.pk, other.pk]
    assert len({entry.at for entry in entries}) == 1


def test_approving_all_that_wait_approves_all_or_none(cast, monkeypatch):
    plain, noted = (cast.passage(f"Pages {p}", "ideas") for p in ("4–5", "6–7"))
    for seed, passage in enumerate((plain, noted)):
        handed_in(passage, cast.illustrator, [seed])
    gone = cast.passage("Pages 8–9", "ideas")
    every = [plain.pk, gone.pk, noted.pk]
    monkeypatch.setattr(letters, "plain_passages", lambda book: every)
    n_entries = LedgerEntry.objects.count()
    assert refusal(letters.approve_waiting, cast.book.pk, named=every, actor=cast.art_director) == "nothing-handed-in"
    assert LedgerEntry.objects.count() == n_entries
    assert not Letter.objects.exists()


def test_a_book_has_one_draft_letter(cast, ideas):
    handed_in(ideas, cast.illustrator)
    answered(cast, ideas, "approve")
    letters.word_letter(cast.book.pk, "Dear Juniper,", actor=cast.art_director)
    assert Letter.objects.filter(book=cast.book).count() == 1
