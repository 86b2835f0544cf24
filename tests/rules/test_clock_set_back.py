"""A clock that was set back writes an earlier moment under a later number: an earlier day is still told."""

from dataclasses import replace

from reviews.rules.contract.timeline import tell
from tests.rules.ledgers import Ledger, day


def put_back(book, entry, at):
    book.entries[entry.seq - 1] = replace(entry, at=at)


def test_a_payment_written_before_its_invoice_tells_nothing_of_a_day_without_it():
    book = Ledger(n_spreads=1)
    book.invoice(1, "100", day("2026-03-10", 12))
    put_back(book, book.paid(1, day("2026-03-10")), day("2026-03-10", 9))
    put_back(book, book.received(1, day("2026-03-10")), day("2026-03-10", 9))
    assert tell(book.entries, until=day("2026-03-10", 10)).bills == {}
    assert tell(book.entries).bills[1].received_on is not None


def test_hours_agreed_to_before_they_were_told_tell_nothing_of_a_day_without_them():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    letter = book.letter(day("2026-03-09"), book.ask(101))
    book.tell_hours(letter, 101, "3", day("2026-03-10", 12))
    put_back(book, book.agree_hours(letter, 101, "3", day("2026-03-10")), day("2026-03-10", 9))
    assert tell(book.entries, until=day("2026-03-10", 10)).hours == {}
    assert tell(book.entries).hours[letter.seq, 101].agreed == 3


def test_a_spread_back_before_it_was_dropped_tells_nothing_of_a_day_without_the_drop():
    book = Ledger(n_spreads=1)
    book.drop(1, day("2026-03-10", 12))
    put_back(book, book.bring_back(1, day("2026-03-10"), "2026-03-17"), day("2026-03-10", 9))
    early = tell(book.entries, until=day("2026-03-10", 10)).passages[101]
    assert (early.away, early.is_dropped) == ([], False)
    assert len(tell(book.entries).passages[101].away) == 1
