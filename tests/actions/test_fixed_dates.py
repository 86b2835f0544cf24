"""A date that the terms fix, in real deeds: every place tells it, of what runs, what is closed, what opens later."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from reviews.actions.clock import as_if_at
from reviews.actions.hand_ins import withdraw_hand_in
from reviews.actions.terms import accept_terms, propose_terms
from reviews.models import LedgerEntry, Passage
from reviews.pages.wording.due_dates import move_words
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.statement import export_of
from reviews.queries.terms import terms_of
from reviews.rules.contract.recount import count_again, figures
from reviews.rules.contract.terms import StageDays
from reviews.rules.states import Refused
from tests.accounts import statement_of
from tests.actions.signed import contract, enter
from tests.actions.test_page_changes import agreed, back, drop
from tests.agreed import change_terms, move_due_date
from tests.cast import gather
from tests.letter_scene import answered, pinned, sent
from tests.makers import a_book, handed_in
from tests.one_date import dates_told, disagreements

pytestmark = pytest.mark.django_db

PLAIN = (StageDays("ideas", 4, 3), StageDays("sketch", 9, 4), StageDays("colour", 12, 5))
#: 14 November 2026 is a Saturday.
FIXED = (
    replace(PLAIN[0], hand_in_on=date(2026, 11, 13), answer_on=date(2026, 11, 20)),
    replace(PLAIN[1], hand_in_on=date(2026, 11, 28)),
    replace(PLAIN[2], hand_in_on=date(2027, 2, 1)),
)


def at(text: str, hour: int = 9) -> datetime:
    return datetime.fromisoformat(text).replace(hour=hour, tzinfo=UTC)


def book_with(stages=PLAIN):
    with as_if_at(at("2026-11-02")):
        cast = gather(a_book())
        enter(cast, stages=stages)
    return cast


def amend(cast, on: str, **changes):
    with as_if_at(at(on)):
        held = terms_of(cast.book)
        terms = replace(held.history.versions[-1], from_on=date.fromisoformat(on), **changes)
        return change_terms(cast.book.pk, terms, n_seen=len(held.rows), actor=cast.art_director)


def due(cast, stage: str, where: str = "Pages 4–5") -> Passage:
    return cast.passage(where, stage)


def agree(cast, now: str) -> None:
    """Hold every place that tells a date against every other, the rows against the ledger, and count again."""
    assert disagreements(dates_told(cast, at(now, 12))) == []
    assert list(ledger_faults(cast.book)) == []
    file = export_of(cast.book, None, at=at(now, 12))
    assert figures(count_again(file)) == file["figures"]


def test_first_terms_give_what_is_drawn_and_what_is_closed_their_dates():
    cast = book_with(FIXED)
    assert due(cast, "ideas").due_on == date(2026, 11, 13)
    assert (due(cast, "sketch").due_on, due(cast, "colour").due_on) == (date(2026, 11, 30), date(2027, 2, 1))
    agree(cast, "2026-11-03")
    lines = {line.passage: line for line in statement_of(cast.book, date(2026, 11, 3)).lines}
    sketch = lines[due(cast, "sketch").pk].due
    assert (sketch.current_on, [move.why for move in sketch.moves]) == (date(2026, 11, 30), ["fixed"])
    entry = LedgerEntry.objects.get(book=cast.book, deed="change-terms")
    told = {line["passage"]: line["due_on"] for line in entry.data["fixes"]}
    assert told[due(cast, "sketch").pk] == "2026-11-30"
    assert due(cast, "ideas").pk not in told  # what runs is restated
    assert f"{len(told)} due dates become those they fix." in sentence(entry.as_entry())


def test_the_answer_and_the_stage_that_opens_have_their_dates_too():
    cast = book_with(FIXED)
    ideas = due(cast, "ideas")
    with as_if_at(at("2026-11-04")):
        handed_in(ideas, cast.illustrator)
    assert due(cast, "ideas").answer_due_on == date(2026, 11, 20)
    agree(cast, "2026-11-05")
    with as_if_at(at("2026-11-06")):
        answered(cast, due(cast, "ideas"), "approve")
        sent(cast)
    # Nine days from the 6th would end on the 19th; Saturday the 28th runs to Monday the 30th.
    assert due(cast, "sketch").due_on == date(2026, 11, 30)
    agree(cast, "2026-11-07")


def test_what_opens_after_its_date_has_its_days_and_a_revision_has_them_always():
    cast = book_with((FIXED[0], replace(PLAIN[1], hand_in_on=date(2026, 11, 23)), PLAIN[2]))
    with as_if_at(at("2026-11-04")):
        handed_in(due(cast, "ideas"), cast.illustrator)
    with as_if_at(at("2026-11-24")):
        answered(cast, due(cast, "ideas"), "approve")
        sent(cast)
    assert due(cast, "sketch").due_on == date(2026, 12, 7)
    agree(cast, "2026-11-25")
    other = due(cast, "ideas", "Pages 6–7")
    with as_if_at(at("2026-11-25")):
        handed_in(other, cast.illustrator, [3])
    with as_if_at(at("2026-11-26")):
        pinned(due(cast, "ideas", "Pages 6–7"), cast.art_director)
        answered(cast, due(cast, "ideas", "Pages 6–7"), "ask")
        sent(cast)
    assert due(cast, "ideas", "Pages 6–7").due_on == date(2026, 12, 2)
    agree(cast, "2026-11-27")


def test_an_amendment_moves_what_runs_and_what_is_to_come_and_two_words_move_it_on():
    cast = book_with()
    ideas = due(cast, "ideas")
    with as_if_at(at("2026-11-03")):
        handed_in(ideas, cast.illustrator)
    assert due(cast, "ideas").answer_due_on == date(2026, 11, 6)
    amend(cast, "2026-11-04", stages=FIXED)
    assert due(cast, "ideas").answer_due_on == date(2026, 11, 20)
    assert due(cast, "ideas", "Pages 6–7").due_on == date(2026, 11, 13)
    assert due(cast, "sketch").due_on == date(2026, 11, 30)
    agree(cast, "2026-11-05")
    with as_if_at(at("2026-11-05")):
        to, drawn = date(2026, 11, 18), due(cast, "ideas", "Pages 6–7")
        move_due_date(drawn.pk, to=to, reason="A wedding.", actor=cast.illustrator)
    assert due(cast, "ideas", "Pages 6–7").due_on == to
    agree(cast, "2026-11-06")
    # An amendment that leaves the dates as they are leaves the moved one, too.
    amend(cast, "2026-11-06", brief_counts=False)
    assert due(cast, "ideas", "Pages 6–7").due_on == to
    agree(cast, "2026-11-06")
    # One that fixes another day sets it anew, from then on.
    amend(cast, "2026-11-09", stages=(replace(FIXED[0], hand_in_on=date(2026, 11, 16)), *FIXED[1:]))
    assert due(cast, "ideas", "Pages 6–7").due_on == date(2026, 11, 16)
    agree(cast, "2026-11-10")


def test_a_date_is_fixed_from_the_day_on_which_both_agree_not_from_a_later_one():
    cast = book_with()
    held = terms_of(cast.book).history.versions[-1]
    with as_if_at(at("2026-11-04")):
        later = replace(held, from_on=date(2026, 11, 20), stages=FIXED)
        with pytest.raises(Refused) as refused:
            propose_terms(cast.book.pk, later, n_seen=1, actor=cast.art_director)
        assert refused.value.code == "fixed-date-later"
        propose_terms(cast.book.pk, replace(later, from_on=date(2026, 11, 4)), n_seen=1, actor=cast.art_director)
    # Nothing moves by the proposal.
    assert due(cast, "sketch").due_on != date(2026, 11, 30)
    agree(cast, "2026-11-04")


def test_a_date_is_taken_out_on_the_day_on_which_both_agree_not_on_a_later_one():
    """An amendment to come would leave the dates as they are, and nothing would change them when its day came."""
    cast = book_with(stages=FIXED)
    held, fixed_on = terms_of(cast.book).history.versions[-1], due(cast, "sketch").due_on
    with as_if_at(at("2026-11-04")), pytest.raises(Refused) as refused:
        later = replace(held, from_on=date(2026, 11, 20), stages=PLAIN)
        propose_terms(cast.book.pk, later, n_seen=1, actor=cast.art_director)
    assert refused.value.code == "fixed-date-later"
    amend(cast, "2026-11-04", stages=PLAIN)
    assert due(cast, "sketch").due_on == due(cast, "sketch").planned_on != fixed_on


def test_a_date_of_another_age_is_refused():
    cast = gather(a_book())
    far = contract(stages=(replace(PLAIN[0], hand_in_on=date(2226, 11, 13)), *PLAIN[1:]))
    with as_if_at(at("2026-11-02")), pytest.raises(Refused) as refused:
        propose_terms(cast.book.pk, far, n_seen=0, actor=cast.illustrator)
    assert refused.value.code == "day-far-off"


def test_an_amendment_that_newly_fixes_a_day_that_is_over_is_refused_when_proposed_and_when_agreed_to():
    cast = book_with()
    held = terms_of(cast.book).history.versions[-1]
    slip = (replace(PLAIN[0], hand_in_on=date(2025, 11, 13)), *PLAIN[1:])
    with as_if_at(at("2026-11-04")):
        with pytest.raises(Refused) as refused:
            propose_terms(
                cast.book.pk, replace(held, from_on=date(2026, 11, 4), stages=slip), n_seen=1, actor=cast.art_director
            )
        assert sentence_for(refused.value) == (
            "These terms newly fix 13 November 2025 for ideas, and that day is over. Look for a slip of the year, or "
            "leave the date out."
        )
        soon = (replace(PLAIN[0], hand_in_on=date(2026, 11, 5)), *PLAIN[1:])
        made = propose_terms(
            cast.book.pk, replace(held, from_on=date(2026, 11, 4), stages=soon), n_seen=1, actor=cast.art_director
        )
    with as_if_at(at("2026-11-06")), pytest.raises(Refused) as refused:
        accept_terms(made.pk, actor=cast.illustrator)
    assert refused.value.code == "fixed-date-over"
    assert due(cast, "ideas").due_on == date(2026, 11, 9)
    with as_if_at(at("2026-11-05")):
        accept_terms(made.pk, actor=cast.illustrator)
    assert due(cast, "ideas").due_on == date(2026, 11, 5)
    # Said again once it is over, it is no new date.
    amend(cast, "2026-11-09", brief_counts=False)
    agree(cast, "2026-11-09")


def test_an_amendment_that_takes_a_date_out_puts_what_is_closed_back_and_leaves_what_runs_and_what_was_moved():
    cast = book_with()
    planned = due(cast, "sketch").planned_on
    amend(cast, "2026-11-04", stages=FIXED)
    other = due(cast, "sketch", "Pages 6–7")
    with as_if_at(at("2026-11-05")):
        move_due_date(other.pk, to=date(2026, 12, 8), reason="A wedding.", actor=cast.illustrator)
    amend(cast, "2026-11-09", stages=PLAIN)
    assert due(cast, "sketch").due_on == planned != date(2026, 11, 30)
    assert due(cast, "sketch", "Pages 6–7").due_on == date(2026, 12, 8)
    assert due(cast, "ideas").due_on == date(2026, 11, 13)
    agree(cast, "2026-11-10")
    lines = {line.passage: line for line in statement_of(cast.book, date(2026, 11, 10)).lines}
    assert [move_words(move) for move in lines[due(cast, "sketch").pk].due.moves] == [
        "the terms, as they were on 4 November 2026, fix this date",
        "the terms fix no date here any more, so the planned one holds again",
    ]
    assert lines[due(cast, "sketch").pk].due.current_on == planned
    assert [move_words(move) for move in lines[due(cast, "ideas").pk].due.moves] == [
        "the terms, as they were on 4 November 2026, fix this date"
    ]
    entry = LedgerEntry.objects.filter(book=cast.book, deed="change-terms").last()
    assert f"{len(entry.data['frees'])} due dates are the planned ones again" in sentence(entry.as_entry())


def away(cast, left: str) -> None:
    with as_if_at(at(left)):
        agreed(cast, drop(cast))


def returned(cast, on: str) -> None:
    with as_if_at(at(on)):
        agreed(cast, back(cast))


def begun(cast) -> None:
    with as_if_at(at("2026-11-03")):
        handed_in(due(cast, "ideas"), cast.illustrator)


def test_a_date_fixed_while_a_spread_was_away_is_given_on_its_return():
    cast = book_with()
    begun(cast)
    away(cast, "2026-11-03")
    amend(cast, "2026-11-04", stages=FIXED)
    gone = due(cast, "sketch", "Pages 6–7")
    assert gone.due_on != date(2026, 11, 30)
    returned(cast, "2026-11-05")
    assert due(cast, "sketch", "Pages 6–7").due_on == date(2026, 11, 30)
    assert due(cast, "ideas", "Pages 6–7").due_on == date(2026, 11, 13)
    agree(cast, "2026-11-05")
    entry = LedgerEntry.objects.filter(book=cast.book, deed="repage").last()
    assert f"{len(entry.data['fixes'])} due dates follow the terms agreed on meanwhile." in sentence(entry.as_entry())


def test_a_date_that_was_moved_before_a_spread_was_away_stands_on_its_return_and_one_taken_out_does_not():
    cast = book_with(FIXED)
    begun(cast)
    with as_if_at(at("2026-11-03", 10)):
        move_due_date(due(cast, "colour", "Pages 6–7").pk, to=date(2027, 2, 8), reason="A.", actor=cast.illustrator)
    away(cast, "2026-11-03")
    amend(cast, "2026-11-04", stages=(FIXED[0], PLAIN[1], FIXED[2]))
    returned(cast, "2026-11-05")
    sketch = due(cast, "sketch", "Pages 6–7")
    assert sketch.due_on == sketch.planned_on != date(2026, 11, 30)
    assert due(cast, "colour", "Pages 6–7").due_on == date(2027, 2, 8)
    agree(cast, "2026-11-05")


def test_a_revision_that_is_brought_back_has_its_own_days_and_one_date_everywhere():
    cast = book_with((replace(PLAIN[0], hand_in_on=date(2026, 12, 18), redo_days=2), *PLAIN[1:]))
    ideas = due(cast, "ideas", "Pages 6–7")
    with as_if_at(at("2026-11-03")):
        handed_in(ideas, cast.illustrator)
    with as_if_at(at("2026-11-04")):
        pinned(due(cast, "ideas", "Pages 6–7"), cast.art_director)
        answered(cast, due(cast, "ideas", "Pages 6–7"), "ask")
        sent(cast)
    assert due(cast, "ideas", "Pages 6–7").due_on == date(2026, 12, 18)
    away(cast, "2026-11-05")
    # A Thursday, on which the fixed date of the first version is still to come: two days, to Monday the 21st.
    returned(cast, "2026-12-17")
    assert due(cast, "ideas", "Pages 6–7").due_on == date(2026, 12, 21)
    agree(cast, "2026-12-17")
    entry = LedgerEntry.objects.filter(book=cast.book, deed="repage").last()
    assert due(cast, "ideas", "Pages 6–7").pk not in entry.data.get("fixed", [])


def test_a_hand_in_withdrawn_after_its_spread_came_back_has_the_days_from_its_return():
    cast = book_with()
    with as_if_at(at("2026-11-03")):
        handed = handed_in(due(cast, "ideas", "Pages 6–7"), cast.illustrator)
    away(cast, "2026-11-04")
    returned(cast, "2026-11-10")
    assert due(cast, "ideas", "Pages 6–7").due_on == date(2026, 11, 9)
    with as_if_at(at("2026-11-11")):
        withdraw_hand_in(handed.pk, "The wrong file.", actor=cast.illustrator)
    passage = due(cast, "ideas", "Pages 6–7")
    assert passage.due_on == date(2026, 11, 16), "four days from the 10th"
    agree(cast, "2026-11-12")
    [line] = [one for one in statement_of(cast.book, date(2026, 11, 16)).lines if one.passage == passage.pk]
    assert (line.due.met_on, line.days.illustrator_late) == (None, 0)
    words = sentence(LedgerEntry.objects.get(deed="withdraw-hand-in").as_entry())
    assert words.endswith("Its spread was dropped and brought back since, so it is due on 16 November 2026.")
    with as_if_at(at("2026-11-12")):
        again = handed_in(passage, cast.illustrator, [3])
    with as_if_at(at("2026-11-13")):
        withdraw_hand_in(again.pk, "Not yet.", actor=cast.illustrator)
    assert "due_on" not in LedgerEntry.objects.filter(deed="withdraw-hand-in").last().data
    agree(cast, "2026-11-13")
