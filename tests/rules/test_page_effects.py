"""Books counted by hand in which spreads are dropped, added and brought back."""

from __future__ import annotations

from datetime import date, time
from decimal import Decimal

import pytest

from reviews.rules.contract.fees import Instalment, Milestone
from reviews.rules.contract.page_effects import effects_between
from reviews.rules.contract.statement import draw_up
from reviews.rules.states import Side
from tests.rules.ledgers import Ledger, day, history
from tests.rules.test_money import FIELDS, drawn


def half(share: int = 50) -> dict:
    parts = (
        Instalment(name="Start", falls=Milestone.START, share=Decimal(50)),
        Instalment(name="Sketches", falls=Milestone.HAND_IN, stage="sketch", share=Decimal(50), of_spreads=share),
    )
    return {"instalments": parts}


def sketches(book, as_of=date(2027, 1, 1), **changes):
    return drawn(book, as_of, **changes).instalments[1]


def test_dropping_the_last_spread_that_is_missing_makes_the_instalment_due_that_day_and_no_earlier():
    book = Ledger(n_spreads=2)
    book.hand_in(101, day("2026-03-06"))
    assert sketches(book).met_on is None
    book.drop(2, day("2026-03-12"))
    found = sketches(book)
    assert (found.met_on, found.n_reached, found.n_needed) == (date(2026, 3, 12), 1, 1)
    assert sketches(book, date(2026, 3, 11)).n_needed == 2, "the account of the day before is as it was"


def test_what_a_dropped_spread_had_earned_stays_earned():
    book = Ledger(n_spreads=2)
    book.hand_in(101, day("2026-03-06"))
    assert sketches(book, **half()).met_on == date(2026, 3, 6), "one of two is half"
    book.drop(1, day("2026-03-12"))
    assert sketches(book, **half()).met_on == date(2026, 3, 6)


def test_adding_a_spread_takes_back_nothing_that_was_due_and_is_needed_from_then_on():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.add_spread(2, day("2026-03-12"), "2026-03-20")
    assert sketches(book).met_on == date(2026, 3, 6)
    other = Ledger(n_spreads=1)
    other.add_spread(2, day("2026-03-05"), "2026-03-20")
    other.hand_in(101, day("2026-03-06"))
    assert sketches(other).met_on is None
    other.hand_in(201, day("2026-03-17"))
    assert sketches(other).met_on == date(2026, 3, 17)


def test_a_kill_fee_counts_a_dropped_spread_at_what_it_had_reached_and_forgets_one_not_begun():
    book = Ledger(n_spreads=2)
    book.hand_in(101, day("2026-03-06"))
    # 1000 in two parts: half of one for its sketch, a quarter of the other.
    assert drawn(book).cancellation.kill_fee.amount == Decimal("375.00")
    begun = Ledger(n_spreads=2)
    begun.hand_in(101, day("2026-03-06"))
    begun.drop(1, day("2026-03-12"))
    assert drawn(begun).cancellation.kill_fee.amount == Decimal("375.00"), "what it had reached stays earned"
    book.drop(2, day("2026-03-12"))
    assert drawn(book).cancellation.kill_fee.amount == Decimal("500.00"), "the fee is for the spread that is left"


def test_the_rounds_used_on_a_dropped_spread_stay_used_and_those_left_go_with_it():
    book = Ledger(n_spreads=2)
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-10"), book.ask(101))
    book.drop(1, day("2026-03-12"))
    found = draw_up(book.entries, history(), date(2026, 4, 1), book.spreads)
    sketches = found.rounds.stages["sketch"]
    assert (found.rounds.book.used, sketches.included, sketches.left) == (1, 3, 2)


@pytest.mark.parametrize("holder", [Side.ILLUSTRATOR, Side.PUBLISHER])
def test_while_it_is_dropped_its_days_are_nobodys_and_late_days_stay(holder):
    book = Ledger(n_spreads=2)
    if holder == Side.PUBLISHER:
        book.hand_in(101, day("2026-03-06"))
    book.drop(1, day("2026-03-20"))
    book.bring_back(1, day("2026-04-06"), "2026-04-13")

    def held(on: date):
        found = draw_up(book.entries, history(), on, book.spreads)
        (line,) = [line for line in found.every_line if line.passage == 101]
        return line.days

    dropped, still, after = held(date(2026, 3, 20)), held(date(2026, 4, 5)), held(date(2026, 4, 8))
    late = f"{holder}_late"
    assert getattr(dropped, late) == getattr(still, late) == getattr(after, late) > 0
    assert getattr(still, str(holder)) == getattr(dropped, str(holder))
    assert getattr(after, str(holder)) == getattr(dropped, str(holder)) + 2


def test_effects_name_what_an_instalment_waits_for_and_what_stopping_would_leave():
    book = Ledger(n_spreads=2)
    book.hand_in(101, day("2026-03-06"))
    before = drawn(book)
    book.drop(2, day("2026-03-12"))
    found = effects_between(before, drawn(book))
    assert [(one["name"], one["needed_before"], one["needed"], one["falls_due"]) for one in found.instalments] == [
        ("Sketches", 2, 1, True), ("Colour", 2, 1, False),
    ]  # fmt: skip
    assert before.cancellation.owed.amount == Decimal(FIELDS["fee"].amount) * Decimal("0.375")
    # Both instalments due by then come to more than the kill fee.
    assert found.stopped == ("375.00", "666.60", "GBP")


def test_a_hand_in_withdrawn_after_its_spread_came_back_has_not_come_and_has_the_days_from_its_return():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-04"))
    book.drop(1, day("2026-03-05"))
    # Due on Monday the 9th, a day that passes while it is away; back on Tuesday the 10th: five days, to the 17th.
    book.bring_back(1, day("2026-03-10"), "2026-03-13")
    book.withdraw(101, day("2026-03-11")).data["due_on"] = "2026-03-17"

    def line(text: str):
        found = draw_up(book.entries, history(), date.fromisoformat(text), book.spreads)
        return next(line for line in found.lines if line.passage == 101)

    found = line("2026-03-19")
    assert (found.turns[-1].due_on, found.due.current_on) == (date(2026, 3, 17), date(2026, 3, 17))
    assert (found.due.moves[-1].why, found.due.met_on) == ("brought-back", None)
    assert (found.due.late, found.days.illustrator_late) == (2, 2)
    assert line("2026-03-17").days.illustrator_late == 0
    book.hand_in(101, day("2026-03-20"))
    assert line("2026-03-20").due.met_on == date(2026, 3, 20)


@pytest.mark.parametrize(("on", "hour"), [("2026-03-28", 11), ("2026-03-27", 13)])
def test_a_drop_at_a_weekend_or_after_the_hour_makes_nothing_later_than_it_was(on, hour):
    """28 March 2026 is a Saturday; on Friday the 27th the hour is noon."""
    book, terms = Ledger(n_spreads=2), history(cut_off=time(12), late_receipt="next-working-day")

    def late(as_of: str) -> int:
        found = draw_up(book.entries, terms, date.fromisoformat(as_of), book.spreads)
        (line,) = [line for line in found.every_line if line.passage == 101]
        return line.days.illustrator_late

    before = late(on)
    book.drop(1, day(on, hour))
    assert late(on) == late("2026-04-10") == before == 14
