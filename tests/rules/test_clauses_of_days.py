"""Clauses about whose days are closed, each counted by hand on a wall calendar of 2026 and 2027."""

from datetime import date

import pytest

from reviews.pages.wording.terms import rule_lines
from reviews.rules.contract.calendars import closed_days_after, working_calendar
from reviews.rules.contract.day_counts import calendar_for, counted_by
from reviews.rules.contract.day_ranges import DayRange
from reviews.rules.contract.days import add_working_days
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import StageDays, check_terms
from reviews.rules.contract.terms_text import terms_from_text, terms_to_text
from reviews.rules.states import Refused, Side
from tests.rules.ledgers import Ledger, day, history, plain_terms, turns

ILLUSTRATOR, PUBLISHER = Side
WINTER = DayRange(date(2026, 12, 24), date(2027, 1, 1), ILLUSTRATOR)
FAIR = DayRange(date(2026, 4, 13), date(2026, 4, 16), PUBLISHER)


def test_the_illustrators_own_closed_days_put_off_only_the_illustrators_dates():
    # Asked on Friday 18 December 2026, five days to draw: 21, 22, 23 December, then 4 and 5 January.
    terms = history(closures=(WINTER,))
    book = Ledger(1)
    book.hand_in(101, day("2026-12-15"))
    book.letter(day("2026-12-18"), book.ask(101))
    assert turns(book, terms)[101][-1].due_on == date(2027, 1, 5)
    # Handed in on Wednesday 23 December, three days to answer: 24, 25 and 28 December, for no holiday is kept.
    book.hand_in(101, day("2026-12-23"))
    assert turns(book, terms)[101][-1].due_on == date(2026, 12, 28)


def test_the_publishers_closed_days_are_nobodys_while_the_publisher_answers():
    # Handed in on Friday 10 April: Monday to Thursday is the fair; Friday 17, Monday 20, Tuesday 21 are the three days.
    terms = history(closures=(FAIR,))
    book = Ledger(1)
    book.hand_in(101, day("2026-04-10"))
    answering = turns(book, terms, date(2026, 4, 21))[101][-1]
    assert (answering.due_on, answering.working, answering.holiday, answering.weekend) == (date(2026, 4, 21), 3, 4, 4)
    # The illustrator goes on drawing through the fair.
    book.letter(day("2026-04-21"), book.ask(101))
    assert terms.versions[0].calendar_of(ILLUSTRATOR).count(date(2026, 4, 10), date(2026, 4, 17)) == 5


def test_a_holiday_that_is_worked_counts_for_whoever_works_it():
    # St Andrew's Day, Monday 30 November 2026, is a public holiday in Scotland; this publisher works on it.
    worked = (DayRange(date(2026, 11, 30), date(2026, 11, 30), PUBLISHER),)
    terms = plain_terms(places=("GB-SCT",), worked=worked)
    friday = date(2026, 11, 27)
    assert add_working_days(friday, 1, terms.calendar_of(PUBLISHER)) == date(2026, 11, 30)
    assert add_working_days(friday, 1, terms.calendar_of(ILLUSTRATOR)) == date(2026, 12, 1)


def test_a_weekend_stays_one_and_a_closed_day_stays_closed_though_it_is_called_worked():
    worked = (DayRange(date(2026, 12, 25), date(2026, 12, 27)),)
    terms = plain_terms(places=("GB-ENG",), worked=worked, closures=(DayRange(date(2026, 12, 25), date(2026, 12, 25)),))
    assert [terms.calendar.kind(date(2026, 12, n)) for n in (25, 26, 27)] == ["holiday", "weekend", "weekend"]


def test_a_range_of_both_sides_closes_both():
    terms = plain_terms(closures=(DayRange(date(2026, 8, 3), date(2026, 8, 14)),))
    for side in Side:
        assert add_working_days(date(2026, 7, 31), 1, terms.calendar_of(side)) == date(2026, 8, 17)


def test_the_books_last_day_is_one_that_the_printer_works():
    # Thursday 26 November 2026 is Thanksgiving: a book for a printer in the United States is to be there on the 25th.
    # Two stages of five days to draw and three to answer are 16 working days after Tuesday 3 November: the 25th.
    book = Ledger(1, at=day("2026-11-03"))
    stages = (StageDays("sketch", 5, 3), StageDays("colour", 5, 3))
    met, missed = (
        draw_up(
            book.entries, history(stages=stages, printer_place="US"), today, book.spreads, final_on=date(2026, 11, 26)
        )
        for today in (date(2026, 11, 10), date(2026, 11, 11))
    )
    assert met.cannot_meet == ()
    assert [(told.final_on, told.since_on) for told in missed.cannot_meet] == [(date(2026, 11, 25), date(2026, 11, 11))]
    unsaid = draw_up(
        book.entries, history(stages=stages), date(2026, 11, 11), book.spreads, final_on=date(2026, 11, 26)
    )
    assert unsaid.cannot_meet == ()


# Dates of bank holidays in England and Wales as GOV.UK publishes them, here from memory.
def test_the_next_ten_closed_days_of_england():
    found = closed_days_after("GB-ENG", date(2026, 3, 1), 10)
    assert [on for on, _ in found] == [
        date(2026, 4, 3), date(2026, 4, 6), date(2026, 5, 4), date(2026, 5, 25), date(2026, 8, 31),
        date(2026, 12, 25), date(2026, 12, 28), date(2027, 1, 1), date(2027, 3, 26), date(2027, 3, 29),
    ]  # fmt: skip
    assert dict(found)[date(2026, 4, 6)] == "Easter Monday"


def test_the_whole_of_the_united_kingdom_lacks_days_that_each_part_keeps():
    easter_monday, august = date(2026, 4, 6), date(2026, 8, 31)
    assert [working_calendar(["GB"]).is_working(on) for on in (easter_monday, august)] == [True, True]
    assert [working_calendar(["GB-ENG"]).is_working(on) for on in (easter_monday, august)] == [False, False]


def test_a_books_own_row_counts_by_the_same_days():
    terms = plain_terms(
        places=("GB-ENG",), closures=(WINTER, FAIR), worked=(DayRange(date(2026, 5, 4), date(2026, 5, 4)),)
    )
    for side in Side:
        assert calendar_for(side, [counted_by(terms)], None) == terms.calendar_of(side)


def test_versions_of_before_are_written_as_they_were():
    assert counted_by(plain_terms()) == {"from_on": "2026-01-01", "places": [], "own_places": False, "shut": []}
    text = terms_to_text(plain_terms())
    for name in ("closures", "worked", "printer_place"):
        del text[name]
    assert terms_from_text(text) == plain_terms()


def test_the_clauses_are_said():
    terms = plain_terms(closures=(WINTER,), worked=(DayRange(date(2026, 5, 4), date(2026, 5, 4)),), printer_place="US")
    assert terms_from_text(terms_to_text(terms)) == terms
    lines = rule_lines(terms)
    assert lines["other closed days"] == "24 December 2026 to 1 January 2027 for the illustrator’s days"
    assert lines["holidays that are worked"] == "4 May 2026"
    assert lines["the printer"] == (
        "keeps the holidays of United States; the book’s last day is one that is worked there"
    )


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"closures": (DayRange(date(2026, 8, 14), date(2026, 8, 3)),)}, "range-backwards"),
        ({"closures": (DayRange(date(2026, 1, 1), date(2027, 8, 3)),)}, "range-too-long"),
        ({"worked": (DayRange(date(2026, 1, 1), date(2026, 1, 1)),) * 41}, "too-many-ranges"),
        ({"printer_place": "ZZ"}, "unknown-place"),
    ],
)
def test_days_that_nobody_keeps_are_refused(changes, code):
    with pytest.raises(Refused) as refused:
        check_terms(plain_terms(**changes))
    assert refused.value.code == code
