"""Days late before a date was agreed: they stay counted unless the acceptance forgives them."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.pages.wording.due_dates import move_words
from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.lateness import HeldDate, late_in
from reviews.rules.contract.statement import draw_up
from tests.rules.ledgers import Ledger, day, history

WEEK = working_calendar()


def drawn_up(book: Ledger, as_of: date):
    return draw_up(book.entries, history(), as_of, book.spreads)


def late_book(agreed: str, *, forgives: bool = False, to: str = "2026-03-20") -> Ledger:
    """Due on Monday 9 March, the days of the terms; nothing came, and another date was agreed."""
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.agree_date(101, day(agreed), to, forgives=forgives)
    return book


@pytest.mark.parametrize(
    ("agreed", "late"),
    [("2026-03-06", 0), ("2026-03-09", 0), ("2026-03-10", 1), ("2026-03-12", 3), ("2026-03-14", 4)],
)
def test_what_was_late_up_to_the_agreement_stays_late(agreed, late):
    """The day of the agreement itself was late, as every screen said on it; a Saturday adds nothing."""
    line = drawn_up(late_book(agreed), date(2026, 3, 18)).lines[0]
    assert (line.days.illustrator_late, line.due.late, line.due.current_on) == (late, late, date(2026, 3, 20))
    assert line.days.illustrator_forgiven == 0


def test_lateness_is_forgiven_only_where_the_acceptance_says_so():
    line = drawn_up(late_book("2026-03-12", forgives=True), date(2026, 3, 18)).lines[0]
    assert (line.days.illustrator_late, line.days.illustrator_forgiven) == (0, 3)
    assert (line.due.late, line.due.forgiven) == (0, 3)


def test_days_after_the_new_date_are_late_again():
    book = late_book("2026-03-12")
    book.hand_in(101, day("2026-03-24"))
    line = drawn_up(book, date(2026, 3, 25)).lines[0]
    assert (line.days.illustrator_late, line.due.late) == (3 + 2, 3 + 2)
    assert "forgiven" not in move_words(line.due.moves[-1])


def test_an_entry_of_before_agreements_is_counted_as_it_was_and_says_who_entered_it():
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.move(101, day("2026-03-12"), "2026-03-20")
    line = drawn_up(book, date(2026, 3, 18)).lines[0]
    assert (line.days.illustrator_late, line.due.late) == (0, 0)
    assert "entered by one side: Corvin Mallowe" in move_words(line.due.moves[-1])


def test_an_agreed_date_names_both():
    words = move_words(drawn_up(late_book("2026-03-12", forgives=True), date(2026, 3, 18)).lines[0].due.moves[-1])
    assert "Juniper Aldersea proposed it, Corvin Mallowe agreed and forgave the days late until then" in words


def test_the_statement_of_the_day_before_stays_what_it_was():
    before = drawn_up(Ledger(n_spreads=1, stages=("sketch",)), date(2026, 3, 11))
    after = drawn_up(late_book("2026-03-12", forgives=True), date(2026, 3, 11))
    assert before.lines == after.lines


@given(
    due=st.dates(date(2026, 3, 2), date(2026, 3, 31)),
    steps=st.lists(st.tuples(st.integers(0, 12), st.integers(0, 20), st.booleans()), max_size=5),
    wait=st.integers(0, 30),
)
def test_no_agreement_takes_back_a_day_that_was_late(due, steps, wait):
    """Day by day by hand: a day is late if it comes after the date that held as it began."""
    stood, on = [HeldDate(due)], date(2026, 3, 2)
    for days, further, forgives in steps:
        on += timedelta(days)
        stood.append(HeldDate(on + timedelta(further), on, forgives))
    until = on + timedelta(wait)
    counted = forgiven = 0
    today, held = date(2026, 3, 2), due
    waiting = list(stood[1:])
    while today <= until:
        if today > held and WEEK.is_working(today):
            counted += 1
        while waiting and waiting[0].since == today:
            new = waiting.pop(0)
            held = new.due_on
            if new.forgives:
                counted, forgiven = 0, forgiven + counted
        today += timedelta(1)
    found = late_in(stood, until, WEEK)
    assert (found.counted, found.forgiven) == (counted, forgiven)
    assert sum(WEEK.count(since, last) for since, last, _ in found.spans) == counted
