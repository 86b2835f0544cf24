from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.pages.wording.due_dates import due_words
from reviews.rules.contract.statement import draw_up
from reviews.rules.reminders import Urgency, reminders_of
from reviews.rules.states import Side
from tests.rules.ledgers import Ledger, day, history, ledgers


def on(book, today, **terms):
    return reminders_of(draw_up(book.entries, history(**terms), today, book.spreads))


def words(told):
    return due_words(f"{told.label}, {told.stage}", told.side, told.urgency, told.due_on, told.days)


def test_the_illustrator_is_reminded_three_working_days_ahead_on_the_day_and_when_late():
    book = Ledger(n_spreads=1)  # the sketch is due on Monday 9 March
    assert on(book, date(2026, 3, 3)) == ()
    found = {today: on(book, date(2026, 3, today))[0].urgency for today in (4, 6, 9, 10)}
    assert found == {4: Urgency.AHEAD, 6: Urgency.AHEAD, 9: Urgency.TODAY, 10: Urgency.LATE}
    assert (
        words(on(book, date(2026, 3, 4))[0])
        == "Opening 1, sketch: the hand-in is due on Monday 9 March, in 3 working days."
    )
    assert (
        words(on(book, date(2026, 3, 11))[0])
        == "Opening 1, sketch: the hand-in was due on Monday 9 March and is 2 working days late."
    )


def test_the_publisher_is_reminded_of_the_answer():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    [told] = on(book, date(2026, 3, 11))
    assert (told.side, told.urgency, told.due_on) == (Side.PUBLISHER, Urgency.TODAY, date(2026, 3, 11))
    assert words(told) == "Opening 1, sketch: the answer is due today."


def test_days_ahead_are_those_that_the_side_works_itself():
    """Easter 2026: England rests on the Friday and the Monday, the United States on neither."""
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-04-01"))
    [told] = on(book, date(2026, 4, 1), places=("GB-ENG", "US"), own_places=True)
    assert (told.side, told.due_on, told.days) == (Side.PUBLISHER, date(2026, 4, 6), 3)
    assert words(told).endswith("is due on Monday 6 April, in 3 working days.")


def test_one_cause_has_one_key_and_a_moved_date_a_new_one():
    book = Ledger(n_spreads=1)
    keys = {on(book, date(2026, 3, d))[0].key for d in (4, 5, 6)}
    assert len(keys) == 1
    assert {on(book, date(2026, 3, d))[0].key for d in (10, 11, 12)}.isdisjoint(keys)
    book.move(101, day("2026-03-04"), "2026-03-10")
    assert {on(book, date(2026, 3, 5))[0].key}.isdisjoint(keys)


def test_nobody_is_reminded_of_what_is_done():
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-09"), book.approve(101))
    assert on(book, date(2026, 3, 11)) == ()


@given(ledgers(), st.integers(0, 40))
@settings(max_examples=60)
def test_a_key_is_never_given_twice_on_one_day(book, more):
    found = on(book, book.entries[-1].at.date() + timedelta(more))
    assert len({told.key for told in found}) == len(found)
    assert [told.due_on for told in found] == sorted(told.due_on for told in found)
