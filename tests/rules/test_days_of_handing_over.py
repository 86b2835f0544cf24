"""Whose the days are around a day of handing over: holidays of one side, late evenings, amendments, silence."""

from datetime import date, time

import pytest

from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import Instalment, Milestone, Money, StageDays, TermsHistory
from reviews.rules.contract.turn_sums import add_up
from reviews.rules.states import Side
from tests.rules.ledgers import Ledger, day, history, plain_terms, turns

APART = {"places": ("GB-ENG", "US"), "own_places": True, "late_receipt": "next-working-day"}


def test_a_holiday_of_the_receiver_makes_nobody_late():
    """Thursday 26 November 2026 is Thanksgiving in the United States, and a working day in England."""
    book = Ledger(n_spreads=1, at=day("2026-11-23"), due_on=("2026-11-26", "2026-12-18"))
    book.hand_in(101, day("2026-11-26", 10))
    drawn, answering = turns(book, history(stages=(StageDays("sketch", 3, 3),), groups=(), **APART), date(2026, 12, 2))[
        101
    ]
    assert (drawn.working, drawn.allowed, drawn.due_on, drawn.late) == (3, 3, date(2026, 11, 26), 0)
    assert (answering.from_on, answering.due_on, answering.working) == (date(2026, 11, 27), date(2026, 12, 2), 3)
    assert (answering.weekend, answering.holiday) == (2, 1), "the Friday of its receipt is nobody's"
    assert add_up([drawn, answering]).calendar_days == (date(2026, 12, 2) - date(2026, 11, 23)).days


def test_a_holiday_of_the_illustrator_makes_no_answer_late_and_moves_no_date():
    """Monday 31 August 2026 is a holiday in England, and a working day in the United States."""
    terms = history(stages=(StageDays("sketch", 5, 3), StageDays("colour", 5, 3)), publisher_late_moves=True, **APART)
    book = Ledger(n_spreads=1, at=day("2026-08-19"), due_on=("2026-08-26", "2026-09-30"))
    book.hand_in(101, day("2026-08-26", 15))
    book.letter(day("2026-08-31", 15), book.approve(101))
    found = draw_up(book.entries, terms, date(2026, 9, 1), book.spreads)
    answered = found.lines[0].turns[1]
    assert (answered.due_on, answered.working, answered.late) == (date(2026, 8, 31), 3, 0)
    assert found.lines[1].due.moves == ()


@pytest.mark.parametrize(("second", "answered_by"), [(2, date(2026, 3, 16)), (10, date(2026, 3, 16))])
def test_what_comes_in_on_the_eve_of_an_amendment_is_judged_as_it_was_told(second, answered_by):
    """Handed in on Friday after the hour, deemed received on Monday, from which day the amendment holds."""
    fields = {"cut_off": time(17), "late_receipt": "next-working-day"}
    first = plain_terms(stages=(StageDays("sketch", 10, 5),), groups=(), **fields)
    stages = (StageDays("sketch", 10, second),)
    amended = plain_terms(version=2, from_on=date(2026, 3, 9), stages=stages, groups=(), **fields)
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.hand_in(101, day("2026-03-06", 18))
    for as_of in (date(2026, 3, 6), date(2026, 3, 9), date(2026, 3, 12)):
        known = TermsHistory((first, amended)).known_on(as_of)
        answering = turns(book, known, as_of)[101][1]
        assert (answering.version, answering.due_on) == (1, answered_by), as_of


def late_on_friday():
    book = Ledger(n_spreads=1, stages=("sketch",), due_on=("2026-03-06",))
    book.hand_in(101, day("2026-03-06", 18))
    fee = Money(9000, "GBP")
    half = Instalment(name="Roughs", falls=Milestone.HAND_IN, stage="sketch", share=100)
    fields = {"cut_off": time(17), "late_receipt": "next-working-day", "fee": fee, "instalments": (half,)}
    stages = (StageDays("sketch", 4, 3),)
    return book, history(stages=stages, groups=(), **fields)


@pytest.mark.parametrize(
    ("as_of", "working", "weekend", "late", "met_on"),
    [
        (date(2026, 3, 6), 4, 0, 1, None),
        (date(2026, 3, 8), 4, 2, 1, None),
        (date(2026, 3, 9), 5, 2, 1, date(2026, 3, 9)),
        (date(2026, 3, 20), 5, 2, 1, date(2026, 3, 9)),
    ],
)
def test_the_statement_of_a_day_holds_no_day_that_lies_after_it(as_of, working, weekend, late, met_on):
    """That it came after the hour of its last day is known on the evening, and is told then."""
    book, terms = late_on_friday()
    found = draw_up(book.entries, terms, as_of, book.spreads)
    [line] = found.lines
    drawn, answering = line.turns
    assert (drawn.working, drawn.weekend, drawn.late) == (working, weekend, late)
    assert (line.due.met_on, line.due.late) == (met_on, late)
    assert found.money.instalments[0].met_on == met_on
    assert bool(found.money.fallen_due) == bool(met_on)
    assert line.days.calendar_days == (as_of - date(2026, 3, 2)).days
    assert answering.calendar_days == max(0, (as_of - date(2026, 3, 9)).days)


def test_where_the_day_of_receipt_counts_the_last_day_uses_up_the_days_allowed():
    """Ten days from Monday 2 March, the first of them that day: the last one is Friday 13."""
    terms = history(stages=(StageDays("sketch", 10, 5),), groups=(), counts_receipt=True)
    for handed_on, used, late in (("2026-03-12", 9, 0), ("2026-03-13", 10, 0), ("2026-03-16", 11, 1)):
        book = Ledger(n_spreads=1, stages=("sketch",))
        book.hand_in(101, day(handed_on))
        drawn = turns(book, terms, as_of=date(2026, 3, 20))[101][0]
        assert (drawn.working, drawn.allowed, drawn.late) == (used, 10, late)


def test_a_day_of_both_is_one_day_of_the_calendar():
    """Handed in on Friday 13, answered on Thursday 19: that Friday is day 10 of the one and day 1 of the other."""
    terms = history(stages=(StageDays("sketch", 10, 5),), groups=(), counts_receipt=True)
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.hand_in(101, day("2026-03-13"))
    book.letter(day("2026-03-19"), book.ask(101))
    drawn, answered, again = turns(book, terms, as_of=date(2026, 3, 20))[101]
    assert (answered.working, answered.allowed, answered.late, answered.both) == (5, 5, 0, 1)
    assert (again.working, again.both) == (2, 1)
    total = add_up([drawn, answered, again])
    assert (total.illustrator, total.publisher, total.weekend, total.both) == (12, 5, 4, 2)
    assert total.calendar_days == 19, "2 March to 20 March, both included"


def test_who_takes_a_hand_in_back_uses_the_day_once():
    terms = history(stages=(StageDays("sketch", 10, 5),), groups=(), counts_receipt=True)
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.hand_in(101, day("2026-03-12", 9))
    book.withdraw(101, day("2026-03-12", 11))
    book.hand_in(101, day("2026-03-13"))
    found = turns(book, terms, as_of=date(2026, 3, 13))[101]
    assert [(turn.side, turn.working, turn.allowed, turn.late) for turn in found] == [
        (Side.ILLUSTRATOR, 9, 10, 0),
        (Side.PUBLISHER, 1, 5, 0),
        (Side.ILLUSTRATOR, 1, 1, 0),
        (Side.PUBLISHER, 1, 5, 0),
    ]


@pytest.mark.parametrize("counts_receipt", [False, True])
def test_after_silence_the_next_stage_has_the_days_it_has_after_an_answer_on_the_last_day(counts_receipt):
    """Silence is over with Thursday 19 March; the portal says so on Friday, which is the illustrator's first day."""
    terms = history(silence_approves_after=9, counts_receipt=counts_receipt)
    silent, spoken = (Ledger(n_spreads=1) for _ in range(2))
    for book in (silent, spoken):
        book.hand_in(101, day("2026-03-06"))
    silent.silence(101, day("2026-03-20", 8), "2026-03-19")
    spoken.letter(day("2026-03-20" if counts_receipt else "2026-03-19"), spoken.approve(101))
    after, heard = (turns(book, terms, as_of=date(2026, 3, 26))[102][0] for book in (silent, spoken))
    assert after.due_on == heard.due_on == date(2026, 3, 26)
    assert (after.working, after.late) == (5, 0)
    assert heard.working == 5
