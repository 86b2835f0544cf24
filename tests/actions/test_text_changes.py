"""A text changed under a hand-in is a cause of the next ask: told before the letter goes, counted as the terms say."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse

from reviews.actions import layout, second_voice
from reviews.models import LedgerEntry, LetterAnswer, SpreadText
from reviews.pages.desk import desk_of
from reviews.pages.wording.ledger import sentence
from reviews.queries.held_check import check_held
from reviews.queries.letter_cost import planned_letter
from reviews.queries.letters import answers_in_page_order, unsent_notes
from reviews.queries.rounds import allowances_for, rounds_in
from reviews.queries.text_blocks import is_text_changed_under, newest_texts
from reviews.rules.contract.rounds import RoundStanding
from reviews.rules.contract.terms import RoundGroup
from reviews.rules.states import Deed, Refused
from tests.actions.signed import enter
from tests.briefs import written
from tests.cast import gather, sign_in
from tests.letter_scene import answered, approved, draft_of, pinned, sent
from tests.makers import a_book, handed_in
from tests.texts import a_text_block, placed

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    """A book whose terms take new work after an approved sketch as outside the fee; one spread is in colour."""
    cast = gather(a_book())
    groups = tuple(RoundGroup(name, (name,), 2) for name in ("ideas", "sketch", "colour"))
    enter(cast, new_work_after="sketch", groups=groups)
    written(cast, cast.passage("Pages 4–5", "ideas"), text="Hush, said the tarn.")
    sketch = cast.passage("Pages 4–5", "sketch")
    placed(sketch, actor=cast.editor)
    approved(cast, cast.passage("Pages 4–5", "ideas"), 1)
    approved(cast, sketch, 2)
    second_voice.agree(sketch.hand_ins.get().pk, actor=cast.editor)
    for kind, seed in (("line", 3), ("ink", 4), ("colour", 5)):
        handed_in(cast.passage("Pages 4–5", kind), cast.illustrator, [seed])
    return cast


def colour(cast):
    return cast.passage("Pages 4–5", "colour")


def asked(cast, cause: str = "question") -> None:
    """Draft an ask for changes whose notes say nothing of a text."""
    pinned(colour(cast), cast.art_director, cause=cause)
    answered(cast, colour(cast), "ask")


def planned(cast):
    answers = answers_in_page_order(draft_of(cast))
    at = LedgerEntry.objects.latest("seq").at
    return planned_letter(cast.book, answers, unsent_notes([one.passage_id for one in answers]), at=at)


def allowance(cast) -> tuple[int, int]:
    """Count the rounds in the fee and those outside it, as desk and table do."""
    one = colour(cast)
    count = rounds_in([cast.book.pk], allowances_for([one]))[one.pk]
    return count.used, count.outside


def causes_sent(cast, *, over: bool = False) -> list[str]:
    sent(cast, over=over)
    (answer,) = LedgerEntry.objects.filter(deed=Deed.SEND_LETTER).latest("seq").data["answers"]
    return answer["causes"]


def test_without_a_change_an_ask_has_the_causes_of_its_notes_alone(cast):
    asked(cast, "production")
    [ask] = planned(cast).cost.asks
    assert ask.standing == RoundStanding.IN_FEE and not planned(cast).text_changed
    assert causes_sent(cast) == ["production"]


@pytest.mark.parametrize("what", ["block", "brief"])
def test_text_changed_under_what_was_handed_in_counts_without_a_note_of_it(client, cast, what):
    asked(cast, "production")
    if what == "block":
        placed(colour(cast), a_text_block(number=1, left_mm=60.0), actor=cast.editor)
    else:
        written(cast, colour(cast), text="Hush, said the wide tarn.")
    [ask] = planned(cast).cost.asks
    assert ask.standing == RoundStanding.OUTSIDE
    sign_in(client, cast.art_director.person)
    page = client.get(reverse("reviews:send-letter", args=[draft_of(cast).pk])).content.decode()
    assert "so it counts as a change of text" in " ".join(page.split())
    with pytest.raises(Refused, match="over-needs-yes"):
        sent(cast)
    assert causes_sent(cast, over=True) == ["production", "text"]
    assert allowance(cast) == (0, 1)


def test_a_change_that_was_put_back_and_one_that_the_hand_in_answers_count_for_nothing(cast):
    placed(colour(cast), a_text_block(number=1, left_mm=60.0), actor=cast.editor)
    placed(colour(cast), a_text_block(number=1), actor=cast.editor)
    asked(cast, "production")
    assert causes_sent(cast) == ["production"]
    placed(colour(cast), a_text_block(number=1, left_mm=70.0), actor=cast.editor)
    handed_in(colour(cast), cast.illustrator, [6])
    asked(cast, "production")
    assert causes_sent(cast) == ["production"]


def test_a_nudge_under_what_was_handed_in_costs_the_publisher_no_round(cast):
    placed(colour(cast), a_text_block(number=1, left_mm=24.0), actor=cast.editor)
    asked(cast, "production")
    [ask] = planned(cast).cost.asks
    assert ask.standing == RoundStanding.IN_FEE and not planned(cast).text_changed
    assert not any("text was changed" in detail for detail in details(cast.illustrator, cast))
    assert causes_sent(cast) == ["production"]


def test_nudges_that_came_to_more_cost_one_however_small_each_was(cast):
    for left_mm in (23.0, 26.0):
        placed(colour(cast), a_text_block(number=1, left_mm=left_mm), actor=cast.editor)
    asked(cast, "production")
    assert causes_sent(cast, over=True) == ["production", "text"]


def test_an_approval_is_no_ask(cast):
    placed(colour(cast), a_text_block(number=1, left_mm=60.0), actor=cast.editor)
    answered(cast, colour(cast), "approve")
    assert causes_sent(cast) == []


def details(seat, cast) -> list[str]:
    desk = desk_of(seat.person)
    return [ask.detail for ask in [*desk.mine, *desk.others] if ask.first.label == "Pages 4–5"]


def test_the_desks_of_who_works_on_it_say_so_until_something_is_handed_in(cast):
    changed = "the text was changed after the approved sketch"
    seats = (cast.illustrator, cast.art_director, cast.editor)
    assert not any(changed in detail for seat in seats for detail in details(seat, cast))
    placed(colour(cast), a_text_block(number=1, left_mm=60.0), actor=cast.editor)
    assert all(changed in details(seat, cast)[0] for seat in seats)
    assert not any(changed in detail for detail in details(cast.agent, cast))
    asked(cast, "production")
    sent(cast, over=True)
    handed_in(colour(cast), cast.illustrator, [6])
    assert not any(changed in detail for seat in seats for detail in details(seat, cast))


def test_a_changed_brief_is_told_on_the_desk_too(cast):
    written(cast, colour(cast), art="Wider.", text="Hush, said the tarn.")
    assert "text was changed" not in details(cast.illustrator, cast)[0]
    written(cast, colour(cast), art="Wider still.", text="Hush, said the wide tarn.")
    assert "text was changed" in details(cast.illustrator, cast)[0]


def test_text_goes_along_to_pages_that_are_laid_out_anew_and_is_no_change_of_text_there(cast):
    spread = cast.passage("Pages 6–7", "ideas").spread
    blocks = (
        a_text_block(),
        a_text_block(left_mm=300.0, words="No moon yet."),
        a_text_block(left_mm=220.0, words="Ah."),
    )
    placed(cast.passage("Pages 6–7", "ideas"), *blocks, actor=cast.editor)
    left, right = layout.split_spread(spread.pk, actor=cast.art_director)
    said = sentence(LedgerEntry.objects.latest("seq").as_entry())
    assert said.endswith(
        f"The placed text went along: block 1 on {left.label}; blocks 2, 3 on {right.label} "
        "(block 3 crossed the fold and was moved onto its page)."
    )
    on = {spread_id: text.blocks for spread_id, text in newest_texts([left.pk, right.pk]).items()}
    assert [(one["words"], one["box"][0]) for one in on[left.pk]] == [("Hush, said the tarn.", 20.0)]
    assert [(one["words"], one["box"][0]) for one in on[right.pk]] == [("No moon yet.", 50.0), ("Ah.", 0.0)]
    assert SpreadText.objects.get(spread=left).set_by == cast.editor and check_held(cast.book).faults == []
    (joined,) = layout.join_spreads(left.pk, right.pk, actor=cast.art_director)
    text = SpreadText.objects.get(spread=joined)
    assert [(one["number"], one["words"], one["box"][0]) for one in text.blocks] == [
        (1, "Hush, said the tarn.", 20.0), (2, "No moon yet.", 300.0), (3, "Ah.", 250.0),
    ]  # fmt: skip
    assert not text.is_change and check_held(cast.book).faults == []
    call_command("verify_ledger", stdout=(told := StringIO()))
    assert "entries, in order" in told.getvalue()


def test_text_put_back_as_it_went_along_is_no_change_under_what_was_drawn_to_it(cast):
    spread = cast.passage("Pages 6–7", "ideas").spread
    placed(cast.passage("Pages 6–7", "ideas"), actor=cast.editor)
    left, _ = layout.split_spread(spread.pk, actor=cast.art_director)
    approved(cast, cast.passage(left.label, "ideas"), 1)
    sketch = cast.passage(left.label, "sketch")
    approved(cast, sketch, 2)
    second_voice.agree(sketch.hand_ins.get().pk, actor=cast.editor)
    for kind, seed in (("line", 3), ("ink", 4), ("colour", 5)):
        handed_in(cast.passage(left.label, kind), cast.illustrator, [seed])
    drawn = cast.passage(left.label, "colour")
    pinned(drawn, cast.art_director, cause="question")
    answered(cast, drawn, "ask")
    answer = LetterAnswer.objects.get(passage=drawn)
    assert not is_text_changed_under(answer)
    placed(drawn, a_text_block(number=1, left_mm=60.0), actor=cast.editor)
    assert is_text_changed_under(answer)
    placed(drawn, a_text_block(number=1), actor=cast.editor)
    assert not is_text_changed_under(answer)


def test_pages_without_text_tell_nothing_of_any(cast):
    layout.split_spread(cast.passage("Pages 6–7", "ideas").spread_id, actor=cast.art_director)
    entry = LedgerEntry.objects.latest("seq")
    assert entry.data["texts"] == [] and "text" not in sentence(entry.as_entry())
    assert not SpreadText.objects.filter(book=cast.book).exclude(spread=colour(cast).spread).exists()
