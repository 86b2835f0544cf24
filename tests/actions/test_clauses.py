"""Clauses about time in real deeds: the row, the letter before it goes, the desk and the statement tell one date."""

from datetime import UTC, date, datetime

import pytest

from reviews.actions.clock import as_if_at
from reviews.pages.review_table import due_words
from reviews.queries.letter_cost import planned_letter
from reviews.queries.letters import answers_in_page_order, unsent_notes
from reviews.queries.silence import silent_day
from reviews.rules.contract.periods import DayUnit, StageSilence
from reviews.rules.contract.terms import StageDays
from reviews.rules.states import Refused
from reviews.tasks.silence import keep_silence
from tests.accounts import statement_of
from tests.actions.test_terms import enter
from tests.agreed import move_due_date
from tests.cast import gather
from tests.letter_scene import answered, draft_of, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

IDEAS = StageDays("ideas", 4, 3, redo_days=2, second_look_days=1)
OTHERS = (StageDays("sketch", 9, 4), StageDays("colour", 12, 5))


def at(text: str, hour: int = 9) -> datetime:
    return datetime.fromisoformat(text).replace(hour=hour, tzinfo=UTC)


def begun(**changes):
    with as_if_at(at("2026-11-02")):
        cast = gather(a_book())
        enter(cast, **{"stages": (IDEAS, *OTHERS)} | changes)
    ideas = cast.passage("Pages 4–5", "ideas")
    with as_if_at(at("2026-11-03")):
        handed_in(ideas, cast.illustrator)
    ideas.refresh_from_db()
    return cast, ideas


def turn_of(cast, passage, on):
    lines = statement_of(cast.book, date.fromisoformat(on)).lines
    return next(line for line in lines if line.passage == passage.pk).turns[-1]


def test_a_revision_and_a_second_look_are_due_alike_everywhere():
    # Handed in on Tuesday 3 November: three days end on Friday the 6th.
    cast, ideas = begun()
    assert ideas.answer_due_on == turn_of(cast, ideas, "2026-11-04").due_on == date(2026, 11, 6)
    with as_if_at(at("2026-11-05")):
        pinned(ideas, cast.art_director)
        answered(cast, ideas, "ask")
        answers = answers_in_page_order(draft_of(cast))
        [told] = planned_letter(cast.book, answers, unsent_notes([ideas.pk]), at=at("2026-11-05")).cost.asks
        sent(cast)
    ideas.refresh_from_db()
    # Asked on Thursday the 5th: two days for a revision end on Monday the 9th.
    assert told.due_on == turn_of(cast, ideas, "2026-11-06").due_on == date(2026, 11, 9)
    with as_if_at(at("2026-11-09")):
        handed_in(ideas, cast.illustrator, [2])
    ideas.refresh_from_db()
    assert ideas.answer_due_on == turn_of(cast, ideas, "2026-11-09").due_on == date(2026, 11, 10)


def test_calendar_days_are_due_alike_everywhere():
    # Five calendar days from Tuesday 3 November end on Sunday the 8th, and so on Monday the 9th.
    cast, ideas = begun(stages=(StageDays("ideas", 4, 5, unit=DayUnit.CALENDAR), *OTHERS))
    assert ideas.answer_due_on == turn_of(cast, ideas, "2026-11-04").due_on == date(2026, 11, 9)


@pytest.mark.parametrize(("grace", "words"), [(0, "2 working days late"), (1, "1 working day late"), (2, "")])
def test_the_desk_and_the_statement_count_the_same_late_days_after_the_grace(grace, words, monkeypatch):
    cast, ideas = begun(answer_grace=grace)
    cast.book.refresh_from_db()
    ideas = cast.passage("Pages 4–5", "ideas")
    monkeypatch.setattr("django.utils.timezone.now", lambda: at("2026-11-10"))
    late = turn_of(cast, ideas, "2026-11-10").late
    assert late == 2 - grace
    told = due_words(ideas)["due_words"]
    assert (words in told) if words else ("late" not in told)


def test_silence_at_one_stage_alone_is_found_warned_of_and_approves():
    # Seven calendar days from Tuesday 3 November end on Tuesday the 10th; three working days before is the 5th.
    cast, ideas = begun(silences=(StageSilence("ideas", 7, DayUnit.CALENDAR),))
    ideas = cast.passage("Pages 4–5", "ideas")
    assert silent_day(ideas, at("2026-11-04")) == date(2026, 11, 10)
    done = []
    for on in ("2026-11-04", "2026-11-05", "2026-11-10", "2026-11-11"):
        with as_if_at(at(on)):
            done.append(keep_silence(at(on)))
    assert done == [0, 1, 0, 1]
    ideas.refresh_from_db()
    assert ideas.state == "approved"


def test_silence_that_is_ruled_out_at_the_stage_never_approves():
    cast, ideas = begun(silence_approves_after=5, silences=(StageSilence("ideas", None),))
    ideas = cast.passage("Pages 4–5", "ideas")
    assert silent_day(ideas, at("2026-11-04")) is None
    with as_if_at(at("2027-01-04")):
        assert keep_silence(at("2027-01-04")) == 0


def test_a_date_that_was_moved_as_often_as_the_terms_allow_is_moved_no_more():
    cast, ideas = begun(moves_at_most=1)
    with as_if_at(at("2026-11-04")):
        move_due_date(ideas.pk, to=date(2026, 11, 10), reason="The fair", which="answer", actor=cast.art_director)
        with pytest.raises(Refused) as refused:
            move_due_date(ideas.pk, to=date(2026, 11, 12), reason="Again", which="answer", actor=cast.art_director)
        assert refused.value.code == "moves-used-up"
        # Less time for the own side is no move, and takes no agreement.
        move_due_date(ideas.pk, to=date(2026, 11, 9), reason="Sooner", which="answer", actor=cast.art_director)
    ideas.refresh_from_db()
    assert ideas.answer_due_on == turn_of(cast, ideas, "2026-11-05").due_on == date(2026, 11, 9)
