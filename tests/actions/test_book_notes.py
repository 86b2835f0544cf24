"""Notes on the whole book: answered at once or spread by spread, and taken along by the next letter they concern."""

from __future__ import annotations

import pytest

from reviews.actions import letters, notes
from reviews.actions.book_notes import answer_on_spreads
from reviews.actions.taking_back import take_back_letter
from reviews.models import AnsweredThere, LedgerEntry, Letter, Note, Passage
from reviews.pages.wording.ledger import sentence
from reviews.queries.book_notes import n_asking, standings_of
from reviews.queries.held_check import check_held
from reviews.queries.last_notes import unsent_and_last
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.plain_approvals import plain_passages
from reviews.rules.states import Deed
from tests.actions.test_page_changes import agreed, drop
from tests.actions.test_whole_notes import whole
from tests.cast import Cast, gather
from tests.letter_scene import answered, opened, pinned, sent
from tests.makers import a_book, handed_in
from tests.refusing import refusal

pytestmark = pytest.mark.django_db
PAIR = ("Pages 4–5", "Pages 6–7")


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


@pytest.fixture
def note(cast) -> Note:
    """A note on pages 4 to 9 that a letter asking for changes on 4–5 and 6–7 brought."""
    for seed, label in enumerate(PAIR, start=1):
        handed_in(ideas(cast, label), cast.illustrator, [seed])
    made = whole(ideas(cast), cast.art_director, pages="4-9")
    pinned(ideas(cast, "Pages 6–7"), cast.art_director, "Lower.")
    for label in PAIR:
        answered(cast, ideas(cast, label), "ask")
    sent(cast)
    made.refresh_from_db()
    return made


def ideas(cast, label="Pages 4–5") -> Passage:
    return cast.passage(label, "ideas")


def spread(cast, label="Pages 4–5") -> int:
    return ideas(cast, label).spread_id


def there(note, *spreads, by, response="done", words="") -> None:
    answer_on_spreads(note.pk, response=response, words=words, spreads=spreads, actor=by)


def asking(cast) -> dict[str, int]:
    rows = list(Passage.objects.live().with_places().filter(book=cast.book))
    counts = n_asking(rows)
    return {row.where: counts[row.pk] for row in rows if row.pk in counts}


def test_it_asks_on_each_spread_that_is_drawn_and_on_none_it_is_not_about(cast, note):
    assert asking(cast) == {"Pages 4–5, ideas": 1, "Pages 6–7, ideas": 1, "Pages 8–9, ideas": 1}


def test_one_answer_holds_for_all_of_it(cast, note):
    notes.answer_note(note.pk, response="done", actor=cast.illustrator)
    assert asking(cast) == {}
    note.refresh_from_db()
    assert [one.said.response for one in standings_of([note], cast.book.pk)[note.pk]] == ["done"] * 3


def test_an_answer_for_one_spread_leaves_the_others_open(cast, note):
    there(note, spread(cast), by=cast.illustrator)
    assert asking(cast) == {"Pages 6–7, ideas": 1, "Pages 8–9, ideas": 1}
    note.refresh_from_db()
    assert not note.is_answered and note.response == ""
    told = {one.label: one.said and one.said.response for one in standings_of([note], cast.book.pk)[note.pk]}
    assert told == {"Pages 4–5": "done", "Pages 6–7": None, "Pages 8–9": None}
    entry = LedgerEntry.objects.latest("seq")
    assert sentence(entry.as_entry()) == "Juniper Aldersea answered note 1.1, on the book, for Pages 4–5: done."
    assert check_held(cast.book).faults == [] and list(ledger_faults(cast.book)) == []


def test_once_each_of_its_spreads_is_answered_it_is(cast, note):
    there(note, spread(cast), spread(cast, "Pages 6–7"), by=cast.illustrator)
    there(note, spread(cast, "Pages 8–9"), by=cast.illustrator, response="not_done", words="He wears none here.")
    note.refresh_from_db()
    assert note.is_answered and asking(cast) == {}
    assert check_held(cast.book).faults == []


def test_of_an_answer_for_all_and_one_for_a_spread_the_newer_holds(cast, note):
    there(note, spread(cast), by=cast.illustrator, response="question", words="Which blue?")
    notes.answer_note(note.pk, response="done", actor=cast.illustrator)
    there(note, spread(cast, "Pages 6–7"), by=cast.illustrator, response="not_done", words="It is night.")
    note.refresh_from_db()
    told = [one.said.response for one in standings_of([note], cast.book.pk)[note.pk]]
    assert told == ["done", "not_done", "done"]


def test_who_did_not_draw_it_answers_it_nowhere_and_nobody_for_a_spread_it_is_not_about(cast, note):
    here, cover = spread(cast), spread(cast, "Cover")
    assert refusal(there, note, here, by=cast.production) == "note-is-the-illustrators"
    assert refusal(there, note, here, by=cast.agent) == "not-yours"
    assert refusal(there, note, cover, by=cast.illustrator) == "note-not-about"
    assert refusal(there, note, by=cast.illustrator) == "note-not-about"
    assert refusal(there, note, here, by=cast.illustrator, response="not_done") == "response-needs-words"
    place = Note.objects.get(words="Lower.")
    assert refusal(there, place, here, by=cast.illustrator) == "note-not-on-book"
    assert not AnsweredThere.objects.exists()


def test_a_dropped_spread_is_owed_no_answer(cast, note):
    gone = spread(cast, "Pages 8–9")
    there(note, spread(cast), by=cast.illustrator)
    agreed(cast, drop(cast, "Pages 8–9"))
    assert refusal(there, note, gone, by=cast.illustrator) == "note-not-about"
    there(note, spread(cast, "Pages 6–7"), by=cast.illustrator)
    note.refresh_from_db()
    assert note.is_answered


def test_a_letter_with_an_answer_for_one_spread_cannot_be_taken_back(cast, note):
    there(note, spread(cast), by=cast.illustrator)
    letter = Letter.objects.get(number=1)
    assert refusal(take_back_letter, letter.pk, "A slip.", actor=cast.art_director) == "letter-answered"


def test_it_stands_before_the_art_director_on_each_spread_until_it_is_done_there(cast, note):
    for seed, label in enumerate(PAIR, start=3):
        there(note, spread(cast, label), by=cast.illustrator) if label == "Pages 4–5" else None
        handed_in(ideas(cast, label), cast.illustrator, [seed])
    rows = list(Passage.objects.with_places().select_related("hand_in").filter(book=cast.book, state="answering"))
    _, last = unsent_and_last(rows)
    told = {row.where: [one.row.words for one in last.get(row.pk, [])] for row in rows}
    assert note.words not in told["Pages 4–5, ideas"] and note.words in told["Pages 6–7, ideas"]
    notes.answer_note(Note.objects.get(words="Lower.").pk, response="done", actor=cast.illustrator)
    opened(cast, *(ideas(cast, label) for label in PAIR))
    assert ideas(cast, "Pages 6–7").pk not in plain_passages(cast.book), "one press approves nothing that waits there"


def test_it_goes_with_the_next_letter_that_answers_a_spread_it_is_about(cast):
    for seed, label in enumerate((*PAIR, "Pages 8–9"), start=1):
        handed_in(ideas(cast, label), cast.illustrator, [seed])
    on_book, on_pages = whole(ideas(cast), cast.editor), whole(ideas(cast), cast.editor, "Bluer.", pages="4-5, 8-9")
    missed = whole(ideas(cast), cast.editor, "Left out.")
    letters.weigh_note(missed.pk, weighing="held", actor=cast.art_director)
    answered(cast, ideas(cast, "Pages 6–7"), "ask")
    letter = sent(cast)
    for row in (on_book, on_pages, missed):
        row.refresh_from_db()
    assert (on_book.state, on_book.letter, on_book.number) == ("sent", letter, 1)
    assert on_pages.state == missed.state == "unsent" and on_pages.passage == ideas(cast)
    answered(cast, ideas(cast, "Pages 8–9"), "approve")
    sent(cast)
    on_pages.refresh_from_db()
    assert on_pages.state == "sent", "an approval takes it along as well"
    assert check_held(cast.book).faults == [] and list(ledger_faults(cast.book)) == []


def test_with_its_own_spread_in_the_letter_it_stays_there(cast):
    for seed, label in enumerate(PAIR, start=1):
        handed_in(ideas(cast, label), cast.illustrator, [seed])
    note = whole(ideas(cast), cast.editor)
    answered(cast, ideas(cast), "ask")
    answered(cast, ideas(cast, "Pages 6–7"), "approve")
    note.refresh_from_db()
    assert note.passage == ideas(cast)
    assert LedgerEntry.objects.filter(deed=Deed.SET_ANSWER).count() == 2


@pytest.fixture
def waiting(cast) -> Cast:
    """Three spreads wait for their answers."""
    for seed, label in enumerate((*PAIR, "Pages 8–9"), start=1):
        handed_in(ideas(cast, label), cast.illustrator, [seed])
    return cast


def home(note) -> str:
    note.refresh_from_db()
    return note.passage.spread.label


def held_as_told(cast) -> bool:
    return check_held(cast.book).faults == [] and list(ledger_faults(cast.book)) == []


def test_an_ask_that_rests_on_it_has_it_back_from_an_approval_that_was_given_before(waiting):
    note = whole(ideas(waiting, "Pages 6–7"), waiting.art_director)
    answered(waiting, ideas(waiting), "approve")
    assert home(note) == "Pages 4–5"
    answered(waiting, ideas(waiting, "Pages 6–7"), "ask")
    assert home(note) == "Pages 6–7"
    sent(waiting)
    told = {one["where"]: one["causes"] for one in LedgerEntry.objects.latest("seq").data["answers"]}
    assert told == {"Pages 4–5, ideas": [], "Pages 6–7, ideas": ["direction"]}
    assert held_as_told(waiting)


def test_an_ask_elsewhere_takes_it_before_an_approval_but_not_from_the_answer_of_its_own_spread(waiting):
    away, own = whole(ideas(waiting), waiting.editor), whole(ideas(waiting, "Pages 6–7"), waiting.editor, "Bluer.")
    answered(waiting, ideas(waiting, "Pages 6–7"), "approve")
    answered(waiting, ideas(waiting, "Pages 8–9"), "ask")
    assert (home(away), home(own)) == ("Pages 8–9", "Pages 6–7")


def test_a_note_that_comes_after_an_answer_goes_with_it_and_waits_no_letter_longer(waiting):
    early = whole(ideas(waiting, "Pages 6–7"), waiting.editor, "Left out at first.")
    letters.weigh_note(early.pk, weighing="held", actor=waiting.art_director)
    gone = whole(ideas(waiting, "Pages 6–7"), waiting.editor, "Taken back at first.")
    notes.withdraw_note(gone.pk, actor=waiting.editor)
    answered(waiting, ideas(waiting), "ask")
    assert (home(early), home(gone)) == ("Pages 6–7", "Pages 6–7")
    late = whole(ideas(waiting, "Pages 8–9"), waiting.editor)
    elsewhere = whole(ideas(waiting, "Pages 8–9"), waiting.editor, "Here only.", pages="8-9")
    letters.weigh_note(early.pk, weighing="through", actor=waiting.art_director)
    notes.restore_note(gone.pk, actor=waiting.editor)
    assert [home(note) for note in (early, gone, late, elsewhere)] == [*["Pages 4–5"] * 3, "Pages 8–9"]
    sent(waiting)
    late.refresh_from_db()
    assert late.state == "sent" and held_as_told(waiting)


def test_with_its_answer_dropped_it_goes_with_another(waiting):
    note = whole(ideas(waiting, "Pages 6–7"), waiting.editor)
    for label in ("Pages 4–5", "Pages 8–9"):
        answered(waiting, ideas(waiting, label), "approve")
    letters.drop_answer(ideas(waiting).pk, actor=waiting.art_director)
    assert home(note) == "Pages 8–9" and held_as_told(waiting)


def test_one_press_approves_no_spread_that_a_waiting_note_on_the_book_is_about(waiting):
    rows = [ideas(waiting, label) for label in (*PAIR, "Pages 8–9")]
    opened(waiting, *rows)
    assert plain_passages(waiting.book) == [row.pk for row in rows]
    note = whole(rows[2], waiting.editor, pages="6-9")
    assert plain_passages(waiting.book) == [rows[0].pk]
    letters.weigh_note(note.pk, weighing="held", actor=waiting.art_director)
    assert plain_passages(waiting.book) == [rows[0].pk, rows[1].pk], "held back it asks on its own spread alone"
