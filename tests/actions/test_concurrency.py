"""Two people at once: real threads, real transactions, one of them wins and the other gets a sentence."""

import pytest

from reviews.actions import hand_ins, letters, second_voice
from reviews.models import LedgerEntry, Letter, Passage
from reviews.queries.ledger import chain_breaks, stored_state
from reviews.queries.letters import letter_fingerprint
from reviews.rules.replay import folded
from reviews.rules.states import Deed, PassageState
from tests.actions.at_once import at_once
from tests.cast import gather
from tests.letter_scene import answered, approved, draft_of, pinned
from tests.makers import a_book, draft, handed_in

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def cast():
    return gather(a_book())


def is_sound(book) -> bool:
    entries = [row.as_entry() for row in LedgerEntry.objects.filter(book=book).order_by("seq")]
    return not list(chain_breaks(book)) and folded(entries) == stored_state(book)


@pytest.mark.parametrize("attempt", range(3))
def test_a_double_click_hands_in_once(cast, attempt):
    ideas = cast.passage("Pages 4–5", "ideas")
    prepared = draft(ideas, cast.illustrator, [attempt])
    press = lambda: hand_ins.hand_in(prepared.pk, actor=cast.illustrator)  # noqa: E731
    assert at_once(press, press, press) == ["already-handed-in", "already-handed-in", "done"]
    assert LedgerEntry.objects.filter(deed=Deed.HAND_IN).count() == 1
    assert is_sound(cast.book)


@pytest.mark.parametrize("attempt", range(3))
def test_two_people_send_the_same_letter_and_one_of_them_does(cast, attempt):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(ideas, cast.illustrator, [attempt])
    answered(cast, ideas, "approve")
    draft_letter = draft_of(cast)
    looked_at = letter_fingerprint(draft_letter)
    press = lambda: letters.send_letter(draft_letter.pk, looked_at=looked_at, actor=cast.art_director)  # noqa: E731
    assert at_once(press, press) == ["done", "letter-sent"]
    assert Letter.objects.get().number == 1
    assert is_sound(cast.book)


def test_an_answer_and_a_withdrawal_of_the_same_hand_in_do_not_both_hold(cast):
    ideas = cast.passage("Pages 4–5", "ideas")
    handed = handed_in(ideas, cast.illustrator)
    answered(cast, ideas, "approve")
    draft_letter = draft_of(cast)
    looked_at = letter_fingerprint(draft_letter)
    outcome = at_once(
        lambda: letters.send_letter(draft_letter.pk, looked_at=looked_at, actor=cast.art_director),
        lambda: hand_ins.withdraw_hand_in(handed.pk, "The wrong file.", actor=cast.illustrator),
    )
    assert outcome in (["already-answered", "done"], ["done", "nothing-handed-in"], ["done", "handed-in-since"])
    state = Passage.objects.get(pk=ideas.pk).state
    assert state == (PassageState.APPROVED if "already-answered" in outcome else PassageState.DRAWING)
    assert is_sound(cast.book)


def test_the_editor_agrees_while_the_art_director_asks_for_changes(cast):
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    sketch = cast.passage("Pages 4–5", "sketch")
    handed_in(sketch, cast.illustrator, [2])
    sketch.refresh_from_db()
    pinned(sketch, cast.art_director)
    answered(cast, sketch, "ask")
    draft_letter = draft_of(cast)
    looked_at = letter_fingerprint(draft_letter)
    outcome = at_once(
        lambda: letters.send_letter(draft_letter.pk, looked_at=looked_at, actor=cast.art_director),
        lambda: second_voice.agree(sketch.hand_in_id, actor=cast.editor),
    )
    # Agreeing before the letter is allowed and changes nothing; after it, it is refused.
    assert outcome in (["done", "done"], ["already-answered", "done"])
    assert Passage.objects.get(pk=sketch.pk).state == PassageState.DRAWING
    assert is_sound(cast.book)
