from datetime import date, timedelta
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.pages.wording.schedule import bar_words
from reviews.rules.contract.statement import draw_up
from reviews.rules.forecast.outlook import Outlook, SpreadOutlook
from reviews.rules.schedule import schedule_of
from reviews.rules.states import Side
from tests.rules.ledgers import Ledger, day, history, ledgers


def statement_on(book, as_of):
    return draw_up(book.entries, history(), as_of, book.spreads)


def test_a_row_shows_who_had_it_when():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-12"), book.ask(101, due_on="2026-03-17"))
    told = schedule_of(statement_on(book, date(2026, 3, 13)), final_on=date(2026, 4, 30))
    [row] = told.rows
    assert [(bar.side, bar.from_on, bar.until_on, bar.late) for bar in row.bars] == [
        (Side.ILLUSTRATOR, date(2026, 3, 2), date(2026, 3, 6), 0),
        (Side.PUBLISHER, date(2026, 3, 6), date(2026, 3, 12), 1),
        (Side.ILLUSTRATOR, date(2026, 3, 12), date(2026, 3, 13), 0),
    ]
    assert "with the publisher from 6 March 2026 until 12 March 2026, 4 working days, 1 working day late" in bar_words(
        row.bars[1]
    )
    assert "still has it" in bar_words(row.bars[2])
    assert [(mark.stage, mark.on, mark.is_planned) for mark in row.marks] == [
        ("sketch", date(2026, 3, 9), True),
        ("sketch", date(2026, 3, 17), False),
        ("colour", date(2026, 3, 20), True),
    ]
    assert told.first_on + timedelta(told.today_at) == date(2026, 3, 13)
    assert told.first_on + timedelta(told.final_at) == date(2026, 4, 30)
    assert [month.on for month in told.months] == [date(2026, 3, 1), date(2026, 4, 1), date(2026, 5, 1)]


def test_the_band_runs_from_half_to_four_in_five():
    book = Ledger(n_spreads=1)
    ends = SpreadOutlook(
        spread=1,
        label="Opening 1",
        p50_on=date(2026, 5, 4),
        p80_on=date(2026, 5, 11),
        drawing_days=1,
        planned_days=1,
        waiting_days=0,
    )
    outlook = Outlook(
        today=date(2026, 3, 3),
        p50_on=ends.p50_on,
        p80_on=ends.p80_on,
        target_on=None,
        chance=None,
        spreads=(ends,),
        illustrator_over=0,
        publisher_over=0,
        n_futures=10,
        seed=1,
        n_cases=(0, 0, 0, 0),
    )
    told = schedule_of(statement_on(book, date(2026, 3, 3)), outlook)
    band = told.rows[0].band
    assert told.first_on + timedelta(band.start) == date(2026, 5, 4)
    assert band.length == 8
    assert told.n_days > band.start + band.length


@given(ledgers(), st.integers(0, 60))
@settings(max_examples=60)
def test_everything_lies_within_the_days_shown_and_bars_of_a_passage_do_not_overlap(book, more):
    as_of = book.entries[-1].at.date() + timedelta(more)
    told = schedule_of(statement_on(book, as_of), final_on=date(2026, 4, 1))
    for row in told.rows:
        for bar in row.bars:
            assert bar.start >= 0 and bar.start + bar.length <= told.n_days
            assert bar.length == (bar.until_on - bar.from_on).days > 0
        assert all(0 <= mark.at < told.n_days for mark in row.marks)
        for stage in {bar.stage for bar in row.bars}:
            own = [bar for bar in row.bars if bar.stage == stage]
            assert all(a.start + a.length <= b.start for a, b in pairwise(own))
