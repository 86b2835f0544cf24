"""Distinct days of the calendar, counted by hand."""

from __future__ import annotations

from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.rules.contract.statement import draw_up
from reviews.rules.states import Side
from tests.rules.ledgers import Ledger, day, history, ledgers


def counted(book, as_of, **terms):
    return draw_up(book.entries, history(**terms), as_of, book.spreads).distinct


def test_a_day_on_which_many_spreads_wait_is_one_day():
    """Begun Monday 2 March, three spreads in on Friday the 6th (4 days), answered on Wednesday the 11th (3 days)."""
    book = Ledger(n_spreads=3, stages=("sketch",))
    for passage in (101, 201, 301):
        book.hand_in(passage, day("2026-03-06"))
    book.letter(day("2026-03-11"), *(book.approve(passage) for passage in (101, 201, 301)))
    found = counted(book, date(2026, 3, 20))
    assert (found.drawing, found.answering, found.both) == (4, 3, 0)
    assert (found.working, found.nobody, found.calendar_days) == (7, 2, 9)
    # By spread it is three times as many.
    days = draw_up(book.entries, history(), date(2026, 3, 20), book.spreads).days
    assert (days.illustrator, days.publisher) == (12, 9)


def test_a_day_on_which_each_side_holds_something_is_told_as_that():
    """One spread in on Wednesday 4 March and answered on Monday the 9th; the other drawn until Tuesday the 10th.

    Drawing: 3, 4, 5, 6, 9, 10 March; an answer waited on the 5th, 6th and 9th: 3 on drawing alone, 3 on both.
    """
    book = Ledger(n_spreads=2, stages=("sketch",))
    book.hand_in(101, day("2026-03-04"))
    book.letter(day("2026-03-09"), book.approve(101))
    book.hand_in(201, day("2026-03-10"))
    found = counted(book, date(2026, 3, 10))
    assert (found.drawing, found.answering, found.both, found.nobody) == (3, 0, 3, 2)


def test_a_letter_that_comes_two_days_late_is_late_on_two_days_however_many_spreads_are_in_it():
    """In on Friday 6 March, three days to answer: due on the 11th, answered on Friday the 13th."""
    book = Ledger(n_spreads=3, stages=("sketch",))
    for passage in (101, 201, 301):
        book.hand_in(passage, day("2026-03-06"))
    book.letter(day("2026-03-13"), *(book.approve(passage) for passage in (101, 201, 301)))
    statement = draw_up(book.entries, history(), date(2026, 3, 20), book.spreads)
    assert statement.distinct.publisher_late == 2
    assert statement.days.publisher_late == 6


@given(ledgers(), st.integers(0, 60), st.booleans())
@settings(max_examples=120, deadline=None)
def test_the_sorts_of_days_are_the_calendar_and_never_more_than_the_days_by_spread(book, more, counts_receipt):
    as_of = date.fromordinal(book.entries[-1].at.date().toordinal() + more)
    statement = draw_up(book.entries, history(counts_receipt=counts_receipt), as_of, book.spreads)
    found = statement.distinct
    spans = [(turn.since_on or turn.from_on, turn.until_on) for line in statement.lines for turn in line.turns]
    spans = [(since, until) for since, until in spans if since < until]
    n_dates = (max(until for _, until in spans) - min(since for since, _ in spans)).days if spans else 0
    assert found.calendar_days == n_dates
    assert min(found.drawing, found.answering, found.both, found.nobody) >= 0
    assert found.drawing + found.both <= statement.days.illustrator + len(spans)
    assert found.illustrator_late <= statement.days.illustrator_late
    assert found.publisher_late <= statement.days.publisher_late
    sides = {turn.side for line in statement.lines for turn in line.turns}
    assert found.answering + found.both == 0 or Side.PUBLISHER in sides
