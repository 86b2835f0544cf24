from dataclasses import replace
from datetime import date

import pytest

from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.periods import DayUnit, StageDays
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.timeline import tell
from reviews.rules.contract.turns import all_turns
from reviews.rules.forecast.outlook import Setting
from reviews.rules.forecast.outlook_text import Question
from reviews.rules.forecast.pace import (
    ENOUGH_CASES,
    FIRST_GUESS,
    REDO_GUESS,
    Pool,
    left_to_do,
    pace_of,
    planned_effort,
    redo_efforts,
    sliced,
)
from reviews.rules.forecast.simulation import forecast
from reviews.rules.states import Side
from tests.rules.ledgers import Ledger, day, plain_terms
from tests.rules.ledgers import history as terms_history

TERMS = plain_terms()


def read(book, as_of):
    story = tell(book.entries, book.spreads)
    return story, all_turns(story, Receipts(terms_history(TERMS)), as_of)


def six_spreads():
    """Five days are planned for all sketches together. Each takes one working day; the answers take six of three."""
    book = Ledger(n_spreads=6)
    for n, on in enumerate(("03", "04", "05", "06", "09", "10"), start=1):
        book.hand_in(book.passage(n, 0), day(f"2026-03-{on}"))
    for n, on in enumerate(("11", "12", "13", "16", "17", "18"), start=1):
        passage = book.passage(n, 0)
        book.letter(day(f"2026-03-{on}", hour=13), book.ask(passage) if n == 6 else book.approve(passage))
    return book


def test_the_days_of_a_stage_are_shared_by_its_spreads():
    story, _ = read(six_spreads(), date(2026, 3, 19))
    assert planned_effort(story, TERMS)[101] == pytest.approx(5 / 6)


def test_a_fixed_date_is_forecast_by_the_working_days_until_it():
    """Sketches by Monday 16 March are ten days from 2 March; colour by 2 April nine from the answer due on 20 March."""
    book = Ledger(n_spreads=2, due_on=("2026-03-17", "2026-05-01"))
    days = (
        StageDays("sketch", 5, 3, hand_in_on=date(2026, 3, 16), answer_on=date(2026, 3, 27)),
        StageDays("colour", 5, 3, hand_in_on=date(2026, 4, 2)),
    )
    story, turns = read(book, date(2026, 3, 2))
    efforts = planned_effort(story, plain_terms(stages=days))
    [piece, _] = left_to_do(story, turns, plain_terms(stages=days))
    assert [(task.answer_days, task.second_look_days) for task in piece.tasks] == [(9, 3), (3, 3)]
    assert efforts == {101: 5.0, 102: 4.5, 201: 5.0, 202: 4.5}
    assert redo_efforts(story, plain_terms(stages=days))[101] == pytest.approx(2.5), "a revision has the stage's days"


def test_hands_on_days_run_from_the_hand_in_before():
    story, turns = read(six_spreads(), date(2026, 3, 19))
    pace = pace_of(story, turns, TERMS)
    assert pace.first.values == pytest.approx([1 / (5 / 6)] * 6)
    assert pace.first.n_cases == 6
    assert pace.answer.values == pytest.approx([2.0] * 6)
    assert pace.rounds.values == (0, 0, 0, 0, 0)


def test_pictures_handed_in_on_one_day_share_the_days():
    book = Ledger(n_spreads=6)
    for n in range(1, 7):
        book.hand_in(book.passage(n, 0), day("2026-03-10"))
    story, turns = read(book, date(2026, 3, 11))
    assert pace_of(story, turns, TERMS).first.values == pytest.approx([1.2] * 6)


def test_few_cases_give_way_to_estimates():
    story, turns = read(Ledger(), date(2026, 3, 4))
    pace = pace_of(story, turns, TERMS)
    assert pace.first == sliced(FIRST_GUESS)
    assert pace.first.n_cases == 0 < ENOUGH_CASES


def test_estimates_have_the_mean_of_their_triangle():
    values = sliced(FIRST_GUESS).values
    mean = (FIRST_GUESS.shortest + FIRST_GUESS.likeliest + FIRST_GUESS.longest) / 3
    assert sum(values) / len(values) == pytest.approx(mean, abs=0.001)


def test_what_is_left_starts_where_each_spread_stands():
    story, turns = read(six_spreads(), date(2026, 3, 20))
    left = left_to_do(story, turns, TERMS)
    assert [piece.spread for piece in left] == [1, 2, 3, 4, 5, 6]
    assert [len(piece.tasks) for piece in left] == [1, 1, 1, 1, 1, 2]
    assert left[5].rounds_asked == 1
    assert all(piece.holder == Side.ILLUSTRATOR for piece in left)
    # Only the spread on the desk keeps the days spent on it, and no more than it was planned to take.
    assert [piece.spent_days for piece in left] == [pytest.approx(5 / 6), 0, 0, 0, 0, 0]


def test_a_book_can_be_forecast_from_its_ledger():
    story, turns = read(six_spreads(), date(2026, 3, 20))
    setting = Setting(today=date(2026, 3, 20), hands=TERMS.calendar, desk=TERMS.calendar, target_on=date(2026, 4, 30))
    told = forecast(left_to_do(story, turns, TERMS), pace_of(story, turns, TERMS), setting, n_futures=500)
    assert date(2026, 3, 27) < told.p50_on <= told.p80_on < date(2026, 4, 30)
    assert told.chance == 1.0
    assert told.n_cases[0] == 6


def of_terms(book, as_of, **changes):
    terms = plain_terms(**changes)
    story = tell(book.entries, book.spreads)
    turns = all_turns(story, Receipts(terms_history(terms)), as_of)
    return left_to_do(story, turns, terms), pace_of(story, turns, terms)


def test_a_revision_is_forecast_by_the_days_the_terms_give_it():
    """Five days for a first version, two for a revision, one for a second look; changes were asked for."""
    book = Ledger(1, stages=("sketch",))
    book.hand_in(101, day("2026-03-04"))
    book.letter(day("2026-03-05"), book.ask(101))
    stages = (StageDays("sketch", 5, 3, redo_days=2, second_look_days=1),)
    [piece], pace = of_terms(book, date(2026, 3, 5), stages=stages, groups=())
    [plain], _ = of_terms(book, date(2026, 3, 5), stages=(StageDays("sketch", 5, 3),), groups=())
    assert piece.effort_now * REDO_GUESS.likeliest == pytest.approx(2)
    assert (piece.answer_now, plain.answer_now, plain.effort_now) == (1, 3, 5)
    week = working_calendar()
    setting = Setting(today=date(2026, 3, 5), hands=week, desk=week)
    sure = replace(pace, redo=Pool((REDO_GUESS.likeliest,), 0), answer=Pool((1.0,), 0), rounds=Pool((1.0,), 0))
    # Two days to draw, Friday and Monday, and one to answer: Tuesday the 10th. By the first version's days it would be
    # two of five to draw and three to answer.
    assert forecast([piece], sure, setting, n_futures=50).p50_on == date(2026, 3, 10)
    assert forecast([plain], sure, setting, n_futures=50).p50_on == date(2026, 3, 12)


def test_days_of_the_calendar_are_forecast_as_working_days():
    stages = (StageDays("sketch", 21, 14, unit=DayUnit.CALENDAR),)
    [piece], _ = of_terms(Ledger(1, stages=("sketch",)), date(2026, 3, 2), stages=stages, groups=())
    assert (piece.tasks[0].effort_days, piece.tasks[0].answer_days) == (15, 10)


def test_a_pause_to_come_is_in_the_forecast_and_makes_it_another():
    book = Ledger(1, stages=("sketch",))
    pieces, pace = of_terms(book, date(2026, 3, 2), stages=(StageDays("sketch", 5, 3),), groups=())
    week, paused = working_calendar(), working_calendar(paused=[date(2026, 3, n) for n in range(4, 7)])
    plain, rests = (Setting(today=date(2026, 3, 2), hands=one, desk=one) for one in (week, paused))
    told = [forecast(pieces, pace, one, n_futures=200).p50_on for one in (plain, rests)]
    assert told[1] > told[0]
    assert Question(pieces, pace, plain).fingerprint != Question(pieces, pace, rests).fingerprint


def test_a_proof_that_the_portal_gives_to_the_printer_is_no_version_that_the_hands_made():
    book = Ledger(n_spreads=6, stages=("proof",))
    terms = plain_terms(stages=(StageDays("proof", 5, 3),), groups=())
    for n, on in enumerate(("03", "04", "05", "06", "09", "10"), start=1):
        at = day(f"2026-03-{on}")
        book.add(at, "give-to-printer", ("machine", "The portal"), book.passage(n, 0), to="drawing")
    story = tell(book.entries, book.spreads)
    turns = all_turns(story, Receipts(terms_history(terms)), date(2026, 3, 20))
    assert [turn.printer_on for turn in turns[101]] == [date(2026, 3, 3)]
    assert pace_of(story, turns, terms).first == sliced(FIRST_GUESS)
