"""Briefs: who writes them, who is told, and what "the brief was not met" may mean."""

from __future__ import annotations

import pytest

from reviews.actions import notes, second_voice
from reviews.actions.briefs import add_references, change_brief, remove_reference
from reviews.actions.letters import weigh_note
from reviews.models import Brief, LedgerEntry, Note, Notice, Reference
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.notes import reason_words
from reviews.queries.held_check import check_held
from reviews.rules.states import Refused, Role
from tests.briefs import an_upload, referred, written
from tests.cast import gather
from tests.letter_scene import BOX, answered, approved, pinned, sent
from tests.makers import a_book, a_jpeg, handed_in
from tests.refusing import refusal

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


def told(role_seat) -> int:
    return Notice.objects.filter(person=role_seat.person).count()


def test_both_sides_are_told_and_the_ledger_keeps_every_word(cast):
    before = {seat: told(seat) for seat in (cast.illustrator, cast.agent, cast.art_director)}
    brief = written(cast, cast.passage("Pages 4–5", "ideas"))
    assert told(cast.illustrator) == before[cast.illustrator] + 1
    assert told(cast.agent) == before[cast.agent] + 1
    assert told(cast.art_director) == before[cast.art_director], "whoever did it is not written to"
    entry = LedgerEntry.objects.latest("seq")
    assert entry.data["parts"] == brief.parts
    assert sentence(entry.as_entry()) == "Corvin Mallowe wrote the brief of Pages 4–5."
    assert check_held(cast.book).faults == []


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT, Role.PRODUCTION])
def test_the_other_side_writes_no_brief(cast, role):
    with pytest.raises(Refused, match="not-yours"):
        written(cast, actor=cast.seat(role))
    assert not Brief.objects.exists()


def test_versions_are_kept_and_nobody_writes_over_what_they_did_not_read(cast):
    first = written(cast)
    second = written(cast, art="Another wish.", actor=cast.editor)
    assert (first.version, second.version) == (1, 2)
    with pytest.raises(Refused, match="brief-changed-meanwhile"):
        change_brief(cast.book.pk, None, {"art": "Mine."}, seen=1, actor=cast.art_director)
    with pytest.raises(Refused, match="brief-unchanged"):
        change_brief(cast.book.pk, None, {"art": " Another wish. "}, seen=2, actor=cast.art_director)
    first.refresh_from_db()
    assert "both arms" in first.parts["art"]


def test_a_spread_of_another_book_has_no_brief_here(cast):
    other = gather(a_book(title="The Heron’s Ladder"))
    spread = other.passage("Pages 4–5", "ideas").spread_id
    with pytest.raises(Refused, match="spread-elsewhere"):
        change_brief(cast.book.pk, spread, {"art": "Mine."}, seen=0, actor=cast.art_director)


def test_after_an_approved_sketch_a_change_is_told_as_what_it_is(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    written(cast, ideas)
    approved(cast, ideas, 1)
    assert written(cast, ideas, art="Wider.").told_as == [], "thumbnails settle no drawing yet"
    sketch = cast.passage("Pages 4–5", "sketch")
    approved(cast, sketch, 2)
    second_voice.agree(sketch.hand_ins.get().pk, actor=cast.editor)
    late = written(cast, ideas, art="Wider.", text="And she slept.")
    assert late.told_as == ["text"]
    both = written(cast, ideas, art="Wider still.", text="And she woke.")
    assert both.told_as == ["direction", "text"]
    assert sentence(LedgerEntry.objects.latest("seq").as_entry()) == (
        "Corvin Mallowe changed the brief of Pages 4–5: version 4. "
        "Written after a sketch was approved: a change of text and a new direction."
    )
    assert written(cast).told_as == [], "a first brief of the book changes nothing that was said"


def test_without_a_brief_nothing_can_have_missed_it(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator, [1])
    assert refusal(pinned, ideas, cast.editor, cause="brief") == "no-brief"
    late = written(cast, ideas)
    assert refusal(pinned, ideas, cast.editor, cause="brief", line=(late.pk, 1)) == "no-brief"
    assert not Note.objects.exists()


def test_a_note_names_a_line_that_stood_when_the_picture_was_handed_in(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    brief, of_book = written(cast, ideas), written(cast, never="No moon.", links="https://example.org")
    handed_in(ideas, cast.illustrator, [1])
    assert refusal(pinned, ideas, cast.editor, cause="brief") == "brief-line-needed"
    assert refusal(pinned, ideas, cast.editor, cause="brief", line=(brief.pk, 9)) == "brief-line-needed"
    assert refusal(pinned, ideas, cast.editor, cause="brief", line=(of_book.pk, 4)) == "brief-line-needed", "a link"
    newer = written(cast, ideas, art="Something else altogether.")
    assert refusal(pinned, ideas, cast.editor, cause="brief", line=(newer.pk, 1)) == "brief-line-later"
    other = written(cast, cast.passage("Pages 6–7", "ideas"))
    assert refusal(pinned, ideas, cast.editor, cause="brief", line=(other.pk, 1)) == "brief-line-needed"
    note = pinned(ideas, cast.editor, cause="brief", line=(brief.pk, 2))
    assert (note.brief_id, note.brief_line) == (brief.pk, 2)
    assert pinned(ideas, cast.editor, cause="brief", line=(of_book.pk, 3)).brief == of_book


def test_another_cause_names_no_line_and_a_changed_cause_forgets_it(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    brief = written(cast, ideas)
    handed_in(ideas, cast.illustrator, [1])
    note = pinned(ideas, cast.editor, cause="brief", line=(brief.pk, 1))
    notes.edit_note(note.pk, words="Turn.", cause="question", region=BOX, brief_line=(brief.pk, 1), actor=cast.editor)
    note.refresh_from_db()
    assert (note.cause, note.brief_id, note.brief_line) == ("question", None, None)


def test_an_older_note_keeps_what_it_says(cast):
    """Notes of before there were briefs name no line; they still go out, and read as they did."""
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator, [1])
    note = pinned(ideas, cast.editor)
    Note.objects.filter(pk=note.pk).update(cause="brief")
    answered(cast, ideas, "ask")
    sent(cast)
    note.refresh_from_db()
    assert (note.state, reason_words(note)) == ("sent", "The brief was not met")


def test_approving_what_misses_its_brief_needs_a_yes_that_the_server_asks_for(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    brief = written(cast, ideas)
    handed_in(ideas, cast.illustrator, [1])
    missed = pinned(ideas, cast.editor, cause="brief", line=(brief.pk, 1))
    answered(cast, ideas, "approve_small")
    assert refusal(sent, cast) == "brief-needs-yes"
    weigh_note(missed.pk, weighing="held", actor=cast.art_director)
    sent(cast)  # what does not go says nothing of the picture that is approved
    sketch = cast.passage("Pages 4–5", "sketch")
    handed_in(sketch, cast.illustrator, [2])
    pinned(sketch, cast.editor, cause="brief", line=(brief.pk, 1))
    answered(cast, sketch, "approve")
    assert refusal(sent, cast) == "brief-needs-yes"
    assert sent(cast, over_brief=True).number == 2


def test_asking_for_changes_over_the_brief_needs_no_yes(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    brief = written(cast, ideas)
    handed_in(ideas, cast.illustrator, [1])
    pinned(ideas, cast.editor, cause="brief", line=(brief.pk, 1))
    answered(cast, ideas, "ask")
    assert sent(cast).number == 1


def test_references_that_were_taken_away_still_weigh(cast, settings):
    ideas = cast.passage("Pages 4–5", "ideas")
    first = referred(cast, ideas, 1)
    settings.DRAFT_MAX_BYTES = first.n_bytes + 10
    remove_reference(first.pk, actor=cast.art_director)
    more = [an_upload(a_jpeg(2), "again.jpg")]
    code = refusal(add_references, cast.book.pk, ideas.spread_id, more, actor=cast.art_director)
    assert code == "references-too-heavy"
    assert Reference.objects.count() == 1
    assert referred(cast, None, 3), "another brief has room of its own"
