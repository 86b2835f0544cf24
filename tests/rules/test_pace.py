from datetime import date

import pytest

from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.timeline import tell
from reviews.rules.contract.turns import all_turns
from reviews.rules.forecast.outlook import Setting
from reviews.rules.forecast.pace import ENOUGH_CASES, FIRST_GUESS, left_to_do, pace_of, planned_effort, sliced
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
