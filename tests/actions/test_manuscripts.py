"""A manuscript placed: every page in one transaction, one mail for all of it, and nothing covered over."""

from __future__ import annotations

from contextlib import contextmanager

import pytest

from reviews.actions.manuscripts import place_manuscript
from reviews.models import LedgerEntry, Notice, SpreadText
from reviews.notices.mail import Mail
from reviews.notices.wording import mail_for
from reviews.pages.wording.ledger import sentence
from reviews.press.text_text import blocks_from_text
from reviews.queries.faces import lines_of
from reviews.queries.held_check import check_held
from reviews.queries.text_blocks import texts_of
from reviews.rules.states import Deed, Refused, Role
from tests.cast import gather
from tests.makers import a_book
from tests.texts import a_text_block, placed
from tests.views.test_text_blocks import settled

pytestmark = pytest.mark.django_db
WORDS = {4: ("Hush.", "Said the tarn."), 7: ("The pail hung still.",), 10: ("Home.",)}


@pytest.fixture
def cast():
    return gather(a_book())


def words_by_spread(cast) -> dict[str, list[str]]:
    texts = texts_of(cast.book).values()
    return {text.spread.label: [one["words"] for one in text.blocks] for text in texts}


def told(seat) -> list[Notice]:
    return list(Notice.objects.filter(person=seat.person, entry__deed=Deed.SET_TEXT))


def mail_to(seat) -> Mail:
    mail = mail_for(told(seat)[0], lambda letter: b"")
    assert mail is not None
    return mail


def test_each_page_gets_its_words_on_its_own_side_inside_the_safe_area(cast):
    made = place_manuscript(cast.book.pk, WORDS, seen={}, language="cy", actor=cast.editor)
    assert [text.spread.label for text in made] == ["Pages 4–5", "Pages 6–7", "Pages 10–11"]
    assert words_by_spread(cast) == {
        "Pages 4–5": ["Hush.\n\nSaid the tarn."], "Pages 6–7": ["The pail hung still."], "Pages 10–11": ["Home."]
    }  # fmt: skip
    right = blocks_from_text(made[1].blocks)[0]
    assert right.left_mm > 250 and right.left_mm + right.width_mm < 500 and right.language == "cy"
    assert blocks_from_text(made[0].blocks)[0].left_mm < 250
    assert check_held(cast.book).faults == []


def test_a_long_text_gets_a_block_that_holds_it(cast):
    made = place_manuscript(cast.book.pk, {4: ("Over the tarn and back again. " * 18,)}, seen={}, actor=cast.editor)
    block = lines_of(blocks_from_text(made[0].blocks)[0])
    assert block.below_mm < 0.01 and len(block.lines) > 6


def test_one_mail_tells_of_all_of_it_and_the_ledger_of_each(cast):
    place_manuscript(cast.book.pk, WORDS, seen={}, actor=cast.editor)
    entries = LedgerEntry.objects.filter(deed=Deed.SET_TEXT).order_by("seq")
    said = [sentence(entry.as_entry()) for entry in entries]
    assert said[0].endswith("With it the text of Pages 6–7; Pages 10–11 was placed.")
    assert "Pages 6–7" in said[1] and "With it" not in said[1] + said[2]
    assert [len(told(seat)) for seat in (cast.illustrator, cast.art_director, cast.editor, cast.agent)] == [1, 1, 0, 0]
    mail = mail_to(cast.illustrator)
    assert "Pages 4–5 and 2 more" in mail.subject and "Pages 10–11" in mail.text


def test_a_block_that_stands_keeps_its_place_and_type_and_others_stay(cast):
    first = cast.passage("Pages 4–5", "sketch")
    stood = placed(first, a_text_block(words="Old."), actor=cast.editor)
    elsewhere = placed(cast.passage("Pages 8–9", "sketch"), a_text_block(words="Stays."), actor=cast.editor)
    place_manuscript(cast.book.pk, WORDS, seen={first.spread_id: 1}, actor=cast.editor)
    text = texts_of(cast.book)[first.spread_id]
    assert text.version == 2 and text.blocks[0] == stood.blocks[0] | {"words": "Hush.\n\nSaid the tarn."}
    assert texts_of(cast.book)[elsewhere.spread_id].version == 1


def test_what_reads_so_already_is_left_and_nothing_at_all_is_refused(cast):
    place_manuscript(cast.book.pk, WORDS, seen={}, actor=cast.editor)
    seen = {spread: text.version for spread, text in texts_of(cast.book).items()}
    made = place_manuscript(cast.book.pk, {**WORDS, 10: ("Home again.",)}, seen=seen, actor=cast.editor)
    assert [text.spread.label for text in made] == ["Pages 10–11"]
    seen = {spread: text.version for spread, text in texts_of(cast.book).items()}
    with pytest.raises(Refused, match="nothing-changed"):
        place_manuscript(cast.book.pk, {**WORDS, 10: ("Home  again.",)}, seen=seen, actor=cast.editor)


@contextmanager
def nothing_kept(code: str):
    before = (SpreadText.objects.count(), LedgerEntry.objects.count(), Notice.objects.count())
    with pytest.raises(Refused, match=f"^{code}$"):
        yield
    assert (SpreadText.objects.count(), LedgerEntry.objects.count(), Notice.objects.count()) == before


def test_one_page_that_cannot_be_placed_keeps_all_of_it_back(cast):
    last = cast.passage("Pages 10–11", "sketch")
    placed(last, a_text_block(words="One."), a_text_block(words="Two."), actor=cast.editor)
    with nothing_kept("manuscript-several-blocks"):
        place_manuscript(cast.book.pk, WORDS, seen={last.spread_id: 1}, actor=cast.editor)
    with nothing_kept("manuscript-page-too-long"):
        place_manuscript(cast.book.pk, {4: ("a.",), 6: ("o" * 4001,)}, seen={last.spread_id: 1}, actor=cast.editor)


def test_a_text_placed_meanwhile_is_not_covered_over(cast):
    late = cast.passage("Pages 6–7", "sketch")
    placed(late, a_text_block(words="Meanwhile.", left_mm=300), actor=cast.art_director)
    with nothing_kept("text-changed-meanwhile"):
        place_manuscript(cast.book.pk, WORDS, seen={}, actor=cast.editor)


def test_a_page_of_no_book_is_nothing(cast):
    with nothing_kept("nothing-changed"):
        place_manuscript(cast.book.pk, {1: ("Pasted down.",), 77: ("Nowhere.",)}, seen={}, actor=cast.editor)


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT, Role.PRODUCTION])
def test_who_may_not_place_text_may_not_place_a_manuscript(cast, role):
    with nothing_kept("not-yours"):
        place_manuscript(cast.book.pk, WORDS, seen={}, actor=cast.seat(role))


def test_after_an_approved_sketch_the_one_mail_says_where_it_is_a_change_and_the_agent_hears_it(cast):
    sketch = cast.passage("Pages 6–7", "sketch")
    settled(cast, sketch)
    place_manuscript(cast.book.pk, WORDS, seen={}, actor=cast.editor)
    entry = LedgerEntry.objects.filter(deed=Deed.SET_TEXT).earliest("seq")
    assert entry.data["told_as"] == [] and entry.data["changes_with_it"] == ["Pages 6–7"]
    mail = mail_to(cast.agent)
    assert mail.subject.startswith("Text change") and "On Pages 6–7 it came after an approved sketch" in mail.text
    assert LedgerEntry.objects.filter(deed=Deed.SET_TEXT, data__told_as=["text"]).count() == 1


def test_a_text_placed_alone_names_no_other(cast):
    block = a_text_block(words="Alone.")
    placed(cast.passage("Pages 4–5", "sketch"), block, actor=cast.editor)
    data = LedgerEntry.objects.get(deed=Deed.SET_TEXT).data
    assert (data["with_it"], data["changes_with_it"]) == ([], [])
