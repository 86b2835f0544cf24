"""What still goes on of a dropped spread: its pictures are read, and notes on the whole book are sent and answered."""

from __future__ import annotations

import pytest

from reviews.actions import letters
from reviews.actions.notes import answer_note, edit_note, reply
from reviews.actions.pictures import picture_ready, picture_refused
from reviews.actions.silence import announce_silence, approve_by_silence
from reviews.models import LedgerEntry
from reviews.rules.states import Deed, Refused
from tests.actions.test_page_changes import agreed, drop, holds_together
from tests.actions.test_whole_notes import whole
from tests.cast import Cast, gather
from tests.letter_scene import answered, pinned, sent
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


@pytest.mark.parametrize("verdict", ["ready", "refused"])
def test_a_picture_that_is_being_read_as_its_spread_is_dropped_is_read_to_its_end(cast, verdict):
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    picture = draft(cast.passage("Pages 6–7", "ideas"), cast.illustrator, ready=False).pictures.get()
    agreed(cast, drop(cast))
    if verdict == "ready":
        picture_ready(picture.pk, width_px=506, height_px=256, facts={})
    else:
        picture_refused(picture.pk, code="not-a-picture", values={})
    picture.refresh_from_db()
    assert picture.state == verdict
    assert LedgerEntry.objects.filter(deed=Deed.READ_PICTURE).last().passage.spread == picture.hand_in.passage.spread
    holds_together(cast)


def test_silence_approves_nothing_on_a_dropped_spread(cast):
    passage = cast.passage("Pages 6–7", "ideas")
    handed_in(passage, cast.illustrator)
    agreed(cast, drop(cast))
    for deed in (announce_silence, approve_by_silence):
        with pytest.raises(Refused, match="not-silent"):
            deed(passage.pk)


def test_a_note_on_the_whole_book_waits_on_with_another_spread_and_goes_with_its_answer(cast):
    passage, other = cast.passage("Pages 6–7", "ideas"), cast.passage("Pages 8–9", "ideas")
    for each, seed in ((passage, 1), (other, 2)):
        handed_in(each, cast.illustrator, [seed])
    on_book, on_pages = whole(passage, cast.editor), whole(passage, cast.editor, "Bluer.", pages="6-7")
    place = pinned(passage, cast.editor, "Far too many birds.")
    agreed(cast, drop(cast))
    for note in (on_book, on_pages, place):
        note.refresh_from_db()
    assert on_book.passage == other and on_pages.passage == place.passage == passage
    letters.weigh_note(on_book.pk, weighing="through", letter_words="A blue scarf.", actor=cast.art_director)
    edit_note(on_book.pk, words="The scarf is blue.", cause="direction", actor=cast.editor)
    answered(cast, other, "ask")
    letter = sent(cast)
    on_book.refresh_from_db()
    assert (on_book.state, on_book.letter) == ("sent", letter)
    holds_together(cast)


def test_with_nothing_else_handed_in_a_note_on_the_book_waits_for_the_next_hand_in(cast):
    passage = cast.passage("Pages 6–7", "ideas")
    handed_in(passage, cast.illustrator, [1])
    note = whole(passage, cast.editor)
    agreed(cast, drop(cast))
    note.refresh_from_db()
    assert note.passage.spread.removed_at is None
    handed_in(note.passage, cast.illustrator, [2])
    answered(cast, note.passage, "ask")
    sent(cast)
    note.refresh_from_db()
    assert note.state == "sent"
    holds_together(cast)


def test_a_note_on_the_whole_book_is_answered_though_its_spread_was_dropped_and_another_is_not(cast):
    passage = cast.passage("Pages 6–7", "ideas")
    handed_in(passage, cast.illustrator, [1])
    on_book, place = whole(passage, cast.editor), pinned(passage, cast.editor, "Far too many birds.")
    answered(cast, passage, "ask")
    sent(cast)
    agreed(cast, drop(cast))
    reply(on_book.pk, "Which blue?", actor=cast.illustrator)
    assert answer_note(on_book.pk, response="done", actor=cast.illustrator).response == "done"
    for refused in (
        lambda: reply(place.pk, "Which?", actor=cast.illustrator),
        lambda: answer_note(place.pk, response="done", actor=cast.illustrator),
    ):
        with pytest.raises(Refused, match="spread-dropped"):
            refused()
    holds_together(cast)
