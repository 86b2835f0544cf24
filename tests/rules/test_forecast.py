from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.days import add_working_days
from reviews.rules.forecast.outlook import Setting
from reviews.rules.forecast.pace import Pace, Pool, SpreadLeft, Task
from reviews.rules.forecast.simulation import forecast, what_if_answered_today, what_if_in_time
from reviews.rules.states import Side
from tests.reference_forecast import exact_sums, nearest_rank

PLAIN = working_calendar()
FRIDAY = date(2026, 5, 29)


def pool(*values):
    return Pool(values, len(values))


#: Everybody exactly as planned, nothing asked for twice.
SURE = Pace(pool(1.0), pool(0.5), pool(1.0), pool(0))
SETTING = Setting(today=FRIDAY, hands=PLAIN, desk=PLAIN)


def piece(spread=1, *tasks, holder=Side.ILLUSTRATOR, **more):
    return SpreadLeft(
        spread=spread, label=f"Opening {spread}", tasks=tasks or (Task("sketch", 5, 3),), holder=holder, **more
    )


def end(pieces, pace=SURE, setting=SETTING, n=200):
    told = forecast(pieces, pace, setting, n_futures=n)
    assert told.p50_on <= told.p80_on
    return told.p50_on


def working(n, calendar=PLAIN):
    return add_working_days(FRIDAY, n, calendar)


def test_a_certain_book_has_one_date():
    assert end([piece()]) == working(5 + 3)


def test_one_pair_of_hands_draws_one_spread_after_the_other():
    assert end([piece(1), piece(2), piece(3)]) == working(15 + 3)


def test_the_next_stage_of_one_is_drawn_while_another_is_answered():
    two = [piece(n, Task("sketch", 5, 3), Task("colour", 5, 3)) for n in (1, 2)]
    # Sketches end on days 5 and 10; the first is answered on day 8, so the hands never wait.
    assert end(two) == working(20 + 3)
    assert forecast(two, SURE, SETTING, n_futures=50).publisher_over == pytest.approx(3)


def test_a_lone_spread_makes_the_hands_wait_for_its_answers():
    one = [piece(1, Task("sketch", 5, 3), Task("colour", 5, 3))]
    told = forecast(one, SURE, SETTING, n_futures=50)
    assert told.p50_on == working(16)
    assert told.spreads[0].waiting_days == pytest.approx(3)
    assert told.publisher_over == pytest.approx(6)
    assert told.illustrator_over == pytest.approx(0)
    assert told.costliest_side == Side.PUBLISHER


def test_rounds_cost_redrawing_and_answers():
    asked_once = replace(SURE, rounds=pool(1))
    assert end([piece()], asked_once) == working(5 + 3 + 3 + 3)  # half of five days is two and a half: day 11


def test_rounds_already_asked_for_are_not_asked_again():
    asked_once = replace(SURE, rounds=pool(1))
    assert end([piece(rounds_asked=1)], asked_once) == working(3 + 3)


def test_a_stage_without_an_answer_costs_no_waiting():
    assert end([piece(1, Task("ink", 5, 0), Task("colour", 5, 3))]) == working(10 + 3)
    assert end([piece(1, Task("ink", 2.5, 0), Task("colour", 2.5, 3))]) == working(5 + 3)


def test_answers_come_in_letters():
    assert end([piece()], setting=replace(SETTING, letters_every=5)) == working(10)
    assert end([piece(1, Task("sketch", 2, 3))], setting=replace(SETTING, letters_every=5)) == working(5)


def test_each_side_works_by_its_own_calendar():
    english = working_calendar(["GB-ENG"])
    # Easter 2026: 3 and 6 April are closed in England, open without a place.
    thursday = date(2026, 4, 2)
    closed_hands = Setting(today=thursday, hands=english, desk=PLAIN)
    closed_desk = Setting(today=thursday, hands=PLAIN, desk=english)
    one = [piece(1, Task("sketch", 1, 1))]
    assert end(one, setting=Setting(today=thursday, hands=PLAIN, desk=PLAIN)) == date(2026, 4, 6)
    assert end(one, setting=closed_hands) == date(2026, 4, 8)
    assert end(one, setting=closed_desk) == date(2026, 4, 7)


def test_an_awaited_answer_comes_after_the_days_that_are_left():
    waiting = piece(holder=Side.PUBLISHER, spent_days=1)
    assert end([waiting]) == working(2)
    overdue = piece(holder=Side.PUBLISHER, spent_days=9)
    assert end([overdue]) == working(1)


def test_days_already_drawn_are_taken_off():
    assert end([piece(spent_days=2)]) == working(3 + 3)
    assert end([piece(spent_days=99)]) == working(1 + 3)


def test_a_letter_today_brings_the_date_forward():
    waiting = [piece(1, Task("sketch", 5, 4), Task("colour", 5, 3), holder=Side.PUBLISHER)]
    told = what_if_answered_today(waiting, SURE, SETTING, n_futures=50)
    assert told.p50_on == working(8)
    # Twelve working days become eight: from Tuesday 16 to Wednesday 10 June, with a weekend in between.
    assert (told.p50_days, told.p80_days) == (-6, -6)


def test_keeping_to_the_terms_brings_the_date_forward():
    slow = replace(SURE, answer=pool(2.0))
    told = what_if_in_time([piece()], slow, SETTING, Side.PUBLISHER, n_futures=50)
    assert told.p50_on == working(8)
    assert told.p50_days < 0
    unchanged = what_if_in_time([piece()], slow, SETTING, Side.ILLUSTRATOR, n_futures=50)
    assert unchanged.p50_days == 0


def test_dates_are_the_nearest_ranks_of_the_exact_bootstrap():
    pace = replace(SURE, first=pool(1.0, 1.2, 2.0))
    two = [piece(1, Task("sketch", 10, 0), Task("colour", 10, 0))]
    told = forecast(two, pace, replace(SETTING, target_on=working(24)), n_futures=60_000, seed=4)
    sums = exact_sums([[10, 12, 20]] * 2)
    assert told.p50_on == working(int(nearest_rank(sums, 0.5)))
    assert told.p80_on == working(int(nearest_rank(sums, 0.8)))
    assert told.chance == pytest.approx(sum(days <= 24 for days in sums) / 9, abs=0.01)


def test_the_same_seed_gives_the_same_figures_and_another_seed_others():
    pace = Pace(pool(0.6, 1.0, 1.9), pool(0.3, 0.8), pool(0.5, 1.0, 2.5), pool(0, 1, 1, 2))
    pieces = [piece(n, Task("sketch", 3, 5), Task("colour", 6, 8)) for n in range(1, 6)]
    setting = replace(SETTING, target_on=date(2026, 10, 1))
    first = forecast(pieces, pace, setting, n_futures=500, seed=1)
    assert first == forecast(pieces, pace, setting, n_futures=500, seed=1)
    assert first != forecast(pieces, pace, setting, n_futures=500, seed=2)
    assert 0 < first.chance < 1


def test_the_costliest_spread_is_the_one_that_holds_the_hands_up():
    quick = [piece(n, Task("sketch", 1, 1), Task("colour", 1, 1)) for n in (1, 2)]
    slow = piece(3, Task("sketch", 1, 30), Task("colour", 1, 1))
    told = forecast([*quick, slow], SURE, SETTING, n_futures=20)
    assert told.costliest_spread.spread == 3
    assert told.costliest_side == Side.PUBLISHER


def test_the_costliest_side_is_the_one_that_overruns_the_plan():
    told = forecast(
        [piece(n, Task("sketch", 5, 1)) for n in (1, 2, 3)], replace(SURE, first=pool(2.0)), SETTING, n_futures=20
    )
    assert told.illustrator_over == pytest.approx(15)
    assert told.costliest_side == Side.ILLUSTRATOR
    assert [one.over_days for one in told.spreads] == pytest.approx([5, 5, 5])


def test_a_finished_book_is_done_today():
    told = forecast([], SURE, replace(SETTING, target_on=FRIDAY))
    assert (told.p50_on, told.chance) == (FRIDAY, 1.0)
    assert told.costliest_spread is None
    assert forecast([], SURE, replace(SETTING, target_on=FRIDAY - timedelta(1))).chance == 0.0


def test_a_date_beyond_the_horizon_is_said_to_be_cut_off():
    told = forecast([piece(1, Task("sketch", 5000, 3))], SURE, SETTING, n_futures=10)
    assert told.is_cut_off
    assert not forecast([piece()], SURE, SETTING, n_futures=10).is_cut_off


pools = st.lists(st.sampled_from([0.2, 0.5, 1.0, 1.5, 3.0]), min_size=1, max_size=6).map(lambda found: pool(*found))
tasks = st.builds(Task, st.just("sketch"), st.sampled_from([0.5, 2.0, 4.0]), st.integers(0, 6))


@given(
    st.lists(st.lists(tasks, min_size=1, max_size=3), min_size=1, max_size=4),
    pools,
    pools,
    st.lists(st.integers(0, 3), min_size=1, max_size=4).map(lambda found: pool(*map(float, found))),
    st.integers(1, 6),
)
@settings(max_examples=60)
def test_forecasts_keep_within_what_is_possible(work, first, answer, rounds, every):
    pieces = [piece(n, *left) for n, left in enumerate(work, start=1)]
    pace = Pace(first, pool(0.5), answer, rounds)
    told = forecast(pieces, pace, replace(SETTING, letters_every=every), n_futures=60)
    drawn = sum(one.drawing_days for one in told.spreads)
    least = min(first.values) * sum(task.effort_days for left in work for task in left)
    # The hands draw at least the first versions, and nothing is done before they have.
    assert drawn >= least - 0.1
    assert told.p80_on >= working(int(least))
    assert max(one.p80_on for one in told.spreads) <= told.p80_on
    assert all(one.waiting_days >= 0 for one in told.spreads)
    for one in told.spreads:
        assert PLAIN.is_working(one.p50_on)


@given(st.integers(0, 3), st.sampled_from([1.0, 1.5, 2.0]))
@settings(max_examples=20)
def test_more_rounds_or_slower_answers_never_make_a_certain_book_earlier(n_rounds, slowness):
    two = [piece(n, Task("sketch", 2, 3), Task("colour", 3, 3)) for n in (1, 2)]
    before = end(two, replace(SURE, rounds=pool(float(n_rounds)), answer=pool(slowness)), n=20)
    assert end(two, replace(SURE, rounds=pool(float(n_rounds + 1)), answer=pool(slowness)), n=20) >= before
    assert end(two, replace(SURE, rounds=pool(float(n_rounds)), answer=pool(slowness + 0.5)), n=20) >= before
