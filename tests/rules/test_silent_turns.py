"""Where the terms let silence approve: the day it takes effect, and whose days end with it."""

from datetime import date

import pytest

from tests.rules.ledgers import Ledger, day, history, turns

TEN = history(silence_approves_after=10)


def test_silence_ends_the_publishers_turn_on_its_own_day_however_late_the_portal_wrote_it_down():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    waits = turns(book, TEN, as_of=date(2026, 3, 18))[101][1]
    assert (waits.is_open, waits.silence_on, waits.silent_on) == (True, date(2026, 3, 20), None)
    book.announce(101, day("2026-03-17"), "2026-03-20")
    warned = turns(book, TEN, as_of=date(2026, 3, 18))[101][1]
    assert (warned.silence_on, warned.announced_on) == (date(2026, 3, 20), date(2026, 3, 17))
    book.silence(101, day("2026-03-24"), "2026-03-20")
    told = turns(book, TEN, as_of=date(2026, 5, 1))
    silent = told[101][1]
    assert (silent.silent_on, silent.until_on, silent.is_open) == (date(2026, 3, 20), date(2026, 3, 20), False)
    assert (silent.working, silent.late, silent.silence_on) == (10, 7, None)
    assert silent.entries == (2, 3, 4)
    # The next stage is the illustrator's from the day on which the portal opened it, and costs no day before.
    assert told[102][0].from_on == date(2026, 3, 23), "day 0, as of an answer of Monday"


def test_where_the_terms_do_not_say_so_silence_is_only_silence():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    loud = turns(book, history(), as_of=date(2026, 5, 1))[101][1]
    assert loud.silence_on is None and loud.is_open


def test_a_first_voice_is_no_silence():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-10"), book.approve_first_voice(101))
    assert turns(book, TEN, as_of=date(2026, 5, 1))[101][1].silence_on is None


def test_silence_chooses_nothing_between_several_pictures():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06")).data["pictures"] = [{"picture": 1}, {"picture": 2}]
    assert turns(book, TEN, as_of=date(2026, 5, 1))[101][1].silence_on is None


@pytest.mark.parametrize(
    ("agreed", "silence_on"), [("2026-03-30", date(2026, 3, 30)), ("2026-03-16", date(2026, 3, 20))]
)
def test_silence_waits_for_a_later_date_that_was_agreed(agreed, silence_on):
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.move_answer(101, day("2026-03-09"), agreed)
    assert turns(book, TEN, as_of=date(2026, 3, 10))[101][1].silence_on == silence_on


def test_silence_waits_for_the_warning_to_have_had_its_day():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.announce(101, day("2026-03-25"), "2026-03-26")
    assert turns(book, TEN, as_of=date(2026, 3, 25))[101][1].silence_on == date(2026, 3, 26)
