"""Notes as deeds: what their ledger entries say."""

import pytest

from reviews.actions import notes
from reviews.actions._deed import deed_on
from reviews.models import LedgerEntry, Note, Notice
from reviews.pages.wording.ledger import sentence
from reviews.rules.entries import Entry
from reviews.rules.states import Deed, NoteState, Refused, Sight
from tests.cast import gather
from tests.letter_scene import pinned
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def note(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator)
    return pinned(ideas, cast.editor)


def test_undoing_a_withdrawal_says_so_to_the_publisher_alone(cast, note):
    notes.withdraw_note(note.pk, actor=cast.editor)
    notes.restore_note(note.pk, actor=cast.editor)
    note.refresh_from_db()
    last = LedgerEntry.objects.order_by("seq").last()
    assert note.state == NoteState.UNSENT
    assert (last.deed, last.sight) == (Deed.RESTORE_NOTE, Sight.PUBLISHER)
    assert (
        sentence(last.as_entry())
        == f"{cast.editor.person.name} took back the withdrawal of a note on Pages 4–5, ideas."
    )
    assert not Notice.objects.filter(entry=last).exists()


def test_only_its_author_takes_a_withdrawal_back(cast, note):
    notes.withdraw_note(note.pk, actor=cast.editor)
    with pytest.raises(Refused) as refused:
        notes.restore_note(note.pk, actor=cast.art_director)
    assert refused.value.code == "not-your-note"


def test_a_withdrawal_undone_before_it_was_a_deed_of_its_own_still_reads(cast, note):
    told = LedgerEntry.objects.order_by("seq").last().as_entry()
    older = Entry(
        seq=told.seq, at=told.at, deed="edit-note", role=told.role, by=told.by, passage=told.passage,
        data={"where": "Pages 4–5, ideas", "note": note.pk},
    )  # fmt: skip
    assert sentence(older) == f"{cast.editor.person.name} changed a note on Pages 4–5, ideas."


def test_an_entry_with_a_misspelt_key_is_not_written(cast, note):
    n_entries = LedgerEntry.objects.count()
    with (
        pytest.raises(RuntimeError, match="nte is not declared"),
        deed_on(Note, note.pk, Deed.EDIT_NOTE, cast.editor) as act,
    ):
        Note.objects.filter(pk=note.pk).update(words="Something else.")
        act.record({"where": "Pages 4–5, ideas", "nte": note.pk})
    note.refresh_from_db()
    assert (note.words, LedgerEntry.objects.count()) == ("Turn her head.", n_entries)
