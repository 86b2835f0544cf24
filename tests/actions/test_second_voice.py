"""Two voices: an approval waits for the editor, whichever speaks first."""

import pytest

from reviews.actions import second_voice
from reviews.models import LedgerEntry, Notice
from reviews.rules.states import Deed, PassageState, Refused, Sight
from tests.cast import gather
from tests.letter_scene import answered, approved, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def sketch(cast):
    """A sketch, which two voices approve, handed in."""
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    sketch = cast.passage("Pages 4–5", "sketch")
    handed_in(sketch, cast.illustrator, [2])
    sketch.refresh_from_db()
    return sketch


def approve(cast, sketch):
    answered(cast, sketch, "approve")
    sent(cast)
    sketch.refresh_from_db()


def test_an_approval_waits_and_nothing_opens_until_the_editor_agrees(cast, sketch):
    approve(cast, sketch)
    assert (sketch.state, sketch.pending_id) == (PassageState.ANSWERING, sketch.hand_in_id)
    assert cast.passage("Pages 4–5", "line").state == PassageState.CLOSED
    second_voice.agree(sketch.hand_in_id, actor=cast.editor)
    sketch.refresh_from_db()
    assert (sketch.state, sketch.pending_id) == (PassageState.APPROVED, None)
    assert sketch.approved_sha256 == sketch.hand_in.pictures.get().sha256
    assert cast.passage("Pages 4–5", "line").state == PassageState.DRAWING


def test_when_the_editor_agreed_first_the_letter_decides_at_once(cast, sketch):
    second_voice.agree(sketch.hand_in_id, actor=cast.editor)
    approve(cast, sketch)
    assert sketch.state == PassageState.APPROVED


def test_an_objection_brings_the_answer_back_to_the_art_director(cast, sketch):
    approve(cast, sketch)
    second_voice.object_to(sketch.hand_in_id, "Her scarf is blue in the text.", actor=cast.editor)
    sketch.refresh_from_db()
    assert (sketch.state, sketch.pending_id) == (PassageState.ANSWERING, None)
    approve(cast, sketch)
    assert sketch.pending_id == sketch.hand_in_id


def test_an_objection_needs_words(cast, sketch):
    with pytest.raises(Refused) as refused:
        second_voice.object_to(sketch.hand_in_id, "  ", actor=cast.editor)
    assert refused.value.code == "objection-needs-words"


def test_nobody_else_is_the_second_voice(cast, sketch):
    for seat in (cast.art_director, cast.illustrator, cast.agent, cast.production):
        with pytest.raises(Refused) as refused:
            second_voice.agree(sketch.hand_in_id, actor=seat)
        assert refused.value.code == "not-yours"


def test_agreeing_early_is_the_houses_affair_and_completing_is_everybodys(cast, sketch):
    second_voice.agree(sketch.hand_in_id, actor=cast.editor)
    early = LedgerEntry.objects.filter(deed=Deed.AGREE).last()
    assert early.sight == Sight.PUBLISHER
    assert set(Notice.objects.filter(entry=early).values_list("person__name", flat=True)) == {"Corvin Mallowe"}
    second_voice.object_to(sketch.hand_in_id, "On second thoughts, no.", actor=cast.editor)
    approve(cast, sketch)
    second_voice.agree(sketch.hand_in_id, actor=cast.editor)
    late = LedgerEntry.objects.filter(deed=Deed.AGREE).last()
    told = set(Notice.objects.filter(entry=late).values_list("person__name", flat=True))
    assert late.sight == Sight.ALL
    assert told == {"Corvin Mallowe", "Juniper Aldersea", "Desmond Rookley"}
