from dataclasses import replace
from datetime import timedelta

import pytest

from reviews.rules.contract.timeline import tell
from reviews.rules.forecast.pace import ANSWER_GUESS, FIRST_GUESS, REDO_GUESS, Pace, Pool, SpreadLeft, Task, sliced
from reviews.rules.forecast.rhythm import letters_every, without_batch_wait
from reviews.rules.states import Side
from tests.rules.ledgers import START, Ledger, history

PIECES = (SpreadLeft(spread=1, label="Opening 1", tasks=(Task("sketch", 1.0, 4),), holder=Side.ILLUSTRATOR),)


def book_with_letters(n, days_apart):
    """One spread, asked for changes again and again, with the same pause between two letters."""
    book = Ledger(n_spreads=1)
    for number in range(n):
        at = START + timedelta(days=number * days_apart)
        book.hand_in(101, at)
        book.letter(at + timedelta(hours=3), book.ask(101))
    return tell(book.entries, book.spreads)


def test_letters_once_a_week_are_five_working_days_apart():
    assert letters_every(book_with_letters(7, 7), history()) == 5


def test_too_few_letters_tell_no_rhythm():
    assert letters_every(book_with_letters(5, 7), history()) == 1
    assert letters_every(book_with_letters(0, 7), history()) == 1


def test_a_long_pause_is_not_taken_for_a_rhythm():
    assert letters_every(book_with_letters(7, 28), history()) == 10


def pace(answer):
    return Pace(sliced(FIRST_GUESS), sliced(REDO_GUESS), answer, Pool((0.0,), 0))


def test_the_wait_for_the_day_of_the_letter_is_not_counted_twice():
    # Weekly letters: an answer waits 2 working days on average, half of the 4 that are allowed.
    measured = pace(Pool((1.5, 0.25), 2))
    assert without_batch_wait(measured, 5, PIECES).answer.values == pytest.approx((1.0, 0.0))
    assert without_batch_wait(measured, 1, PIECES) == measured


def test_estimates_have_no_such_wait_in_them():
    guessed = pace(sliced(ANSWER_GUESS))
    assert without_batch_wait(guessed, 5, PIECES) == guessed
    shown = (replace(PIECES[0], tasks=(Task("line", 1.0, 0),)),)
    assert without_batch_wait(pace(Pool((1.5,), 1)), 5, shown) == pace(Pool((1.5,), 1))
