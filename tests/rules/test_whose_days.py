from datetime import date, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reviews.rules.contract.terms import StageDays, TermsHistory
from reviews.rules.contract.turn_sums import PersonDays, add_up, by_person
from reviews.rules.states import Side
from tests.rules.ledgers import CORVIN, Ledger, day, history, ledgers, plain_terms, turns


def approved_book():
    """Monday 2 March: go-ahead. Handed in Friday 6th, answered Thursday 12th, again Monday 16th, approved Tuesday."""
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-12"), book.ask(101))
    book.hand_in(101, day("2026-03-16"))
    book.letter(day("2026-03-17"), book.approve(101))
    return book


def test_each_working_day_belongs_to_whoever_had_to_act():
    found = turns(approved_book())[101]
    assert [(turn.side, turn.working) for turn in found] == [
        (Side.ILLUSTRATOR, 4),
        (Side.PUBLISHER, 4),
        (Side.ILLUSTRATOR, 2),
        (Side.PUBLISHER, 1),
    ]
    total = add_up(found)
    assert (total.illustrator, total.publisher, total.weekend, total.holiday) == (6, 5, 4, 0)
    assert total.calendar_days == (date(2026, 3, 17) - date(2026, 3, 2)).days


def test_days_used_are_held_against_days_allowed():
    found = turns(approved_book())[101]
    # Three days to answer a hand-in of Friday: Wednesday; the letter went on Thursday.
    assert found[1].due_on == date(2026, 3, 11)
    assert found[1].late == 1
    assert found[0].late == 0
    assert found[1].entries == (2, 3)
    total = add_up(found)
    # Two turns of five days each to draw, two of three to answer.
    assert (total.illustrator, total.illustrator_allowed) == (6, 10)
    assert (total.publisher, total.publisher_allowed, total.publisher_late) == (5, 6, 1)


def test_a_stage_the_terms_do_not_name_keeps_the_date_it_was_opened_with():
    """The letter that opens it answers another passage, whose own date had been moved."""
    book = Ledger(n_spreads=1, stages=("sketch", "finish"))
    book.hand_in(101, day("2026-03-06"))
    answer = book.approve(101) | {"due_on": "2026-05-20", "dues": {"102": "2026-04-02"}}
    book.letter(day("2026-03-10"), answer)
    (opened,) = turns(book, as_of=date(2026, 3, 11))[102]
    assert (opened.allowed, opened.due_on) == (None, date(2026, 4, 2))


def test_who_withdraws_a_hand_in_gains_no_days_by_it():
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.hand_in(101, day("2026-03-06"))
    book.withdraw(101, day("2026-03-10"))
    first, _, again = turns(book, as_of=date(2026, 3, 11))[101]
    assert (again.side, again.due_on) == (Side.ILLUSTRATOR, first.due_on)
    moved = Ledger(n_spreads=1, stages=("sketch",))
    moved.hand_in(101, day("2026-03-06"))
    moved.move(101, day("2026-03-09"), "2026-03-18")
    moved.withdraw(101, day("2026-03-10"))
    assert turns(moved, as_of=date(2026, 3, 11))[101][-1].due_on == date(2026, 3, 18)


def test_what_was_taken_back_is_drawn_on_with_the_days_that_were_left():
    """Five days to draw: four are used, one is left for the rest of the turn, and five are allowed in all."""
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.hand_in(101, day("2026-03-06"))
    book.withdraw(101, day("2026-03-09"))
    found = turns(book, as_of=date(2026, 3, 9))[101]
    assert [(turn.side, turn.working, turn.allowed) for turn in found] == [
        (Side.ILLUSTRATOR, 4, 5),
        (Side.PUBLISHER, 1, 3),
        (Side.ILLUSTRATOR, 0, 1),
    ]
    assert add_up(found).illustrator_allowed == 5
    book.hand_in(101, day("2026-03-10"))
    book.withdraw(101, day("2026-03-10"))
    again = turns(book, as_of=date(2026, 3, 16))[101]
    assert (again[-1].working, again[-1].allowed) == (4, 0)
    assert (add_up(again).illustrator, add_up(again).illustrator_allowed) == (9, 5)
    book.hand_in(101, day("2026-03-16"))
    book.letter(day("2026-03-17"), book.ask(101))
    assert add_up(turns(book, as_of=date(2026, 3, 18))[101]).illustrator_allowed == 10, "a round begins a new turn"


def test_days_late_are_summed_once_where_a_late_hand_in_was_taken_back():
    """Due on the 9th: two days late, a day at the publisher, and one more of the illustrator's own."""
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.hand_in(101, day("2026-03-11"))
    book.withdraw(101, day("2026-03-12"))
    book.hand_in(101, day("2026-03-13"))
    found = turns(book, as_of=date(2026, 3, 13))[101]
    assert [turn.late for turn in found if turn.side == Side.ILLUSTRATOR] == [2, 4], "each as told on its day"
    assert add_up(found).illustrator_late == 3


def test_the_days_to_answer_are_counted_from_the_receipt_by_the_receivers_own_calendar():
    """Easter Monday is closed in England and open in New York: opened and handed in on the Saturday before it."""
    terms = history(places=("GB-ENG", "US-NY"), own_places=True, late_receipt="next-working-day", cut_off=time(18))
    book = Ledger(n_spreads=1, stages=("sketch",), at=day("2026-04-04", 8))
    book.hand_in(101, day("2026-04-04", 10))
    drawn, answering = turns(book, terms, as_of=date(2026, 4, 7))[101]
    assert drawn.until_on == date(2026, 4, 7), "received by the illustrator on the Tuesday"
    assert answering.due_on == date(2026, 4, 9), "three New York days after the Monday"


def test_a_turn_that_still_runs_counts_to_the_day_of_reckoning():
    book = Ledger(n_spreads=1)
    found = turns(book, as_of=date(2026, 3, 11))[101]
    assert len(found) == 1
    assert found[0].is_open
    assert (found[0].working, found[0].late) == (7, 2)
    assert found[0].parts[0].by == ""


def test_days_before_the_go_ahead_cost_nobody_anything():
    book = Ledger(n_spreads=1)
    book.entries[0].data["start_on"] = "2026-03-09"
    found = turns(book, as_of=date(2026, 3, 11))[101]
    assert (found[0].from_on, found[0].working) == (date(2026, 3, 9), 2)


def test_time_between_approval_and_a_later_change_belongs_to_nobody():
    book = approved_book()
    book.letter(day("2026-05-04"), book.ask(101, "text"))
    found = turns(book, as_of=date(2026, 5, 6))[101]
    assert found[-1].from_on == date(2026, 5, 4)
    assert found[-1].working == 2
    assert add_up(found).calendar_days == 15 + 2


def test_holidays_are_nobodys_days():
    book = Ledger(n_spreads=1, at=day("2026-04-01"))
    book.hand_in(101, day("2026-04-08"))
    england = turns(book, history(places=("GB-ENG",)))[101][0]
    assert (england.working, england.weekend, england.holiday) == (3, 2, 2)
    nowhere = turns(book, history())[101][0]
    assert (nowhere.working, nowhere.weekend, nowhere.holiday) == (5, 2, 0)


def test_each_side_counts_the_days_worked_in_its_own_place():
    """Good Friday and Easter Monday are closed in England, and Juneteenth in the United States; not the other way."""
    apart = history(places=("GB-ENG", "US"), own_places=True)
    book = Ledger(n_spreads=1, at=day("2026-04-01"))
    book.hand_in(101, day("2026-04-02"))
    drawing, answering = turns(book, apart, as_of=date(2026, 4, 8))[101]
    assert (drawing.due_on, answering.due_on) == (date(2026, 4, 10), date(2026, 4, 7))
    assert (answering.working, answering.weekend, answering.holiday, answering.late) == (4, 2, 0, 1)
    both = history(places=("GB-ENG", "US"))
    assert turns(book, both, as_of=date(2026, 4, 8))[101][1].due_on == date(2026, 4, 9)


def test_what_arrives_on_a_closed_day_waits_for_the_receivers_own_working_day():
    apart = history(places=("GB-ENG", "US"), own_places=True, late_receipt="next-working-day")
    book = Ledger(n_spreads=1, at=day("2026-04-01"))
    book.hand_in(101, day("2026-04-03"))
    assert turns(book, apart)[101][1].from_on == date(2026, 4, 3)  # worked in the United States
    book.letter(day("2026-04-06"), book.ask(101))
    assert turns(book, apart)[101][2].from_on == date(2026, 4, 7)  # Easter Monday in England


def test_handing_in_after_the_cut_off_costs_a_day():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-09", hour=18))
    strict = history(cut_off=time(17), late_receipt="next-working-day")
    assert turns(book, strict)[101][0].late == 1
    assert turns(book, history())[101][0].late == 0


def test_counting_the_day_of_receipt_moves_the_border_by_a_day():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    first, second = turns(book, history(counts_receipt=True), as_of=date(2026, 3, 10))[101]
    assert (first.working, first.allowed, first.due_on, first.late) == (5, 5, date(2026, 3, 6), 0)
    assert (second.working, second.allowed, second.due_on, second.late) == (3, 3, date(2026, 3, 10), 0)
    total = add_up([first, second])
    assert (total.both, total.calendar_days) == (1, 9), "Friday is a day of both, and one day of the calendar"


def test_second_voice_has_its_own_days():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-10"), book.approve_first_voice(101))
    book.agree(101, day("2026-03-16"))
    turn = turns(book)[101][1]
    assert turn.working == 6
    assert [(part.role, part.by, part.working) for part in turn.parts] == [
        ("art_director", "Corvin Mallowe", 2),
        ("editor", "Petra Innisfold", 4),
    ]
    assert turn.late == 3
    people = by_person(turns(book)[101])
    assert people["editor", "Petra Innisfold"] == PersonDays(4, (3, 4))
    assert people["illustrator", "Juniper Aldersea"] == PersonDays(4, (1, 2))
    assert people["art_director", "Corvin Mallowe"] == PersonDays(2, (2, 3))


def test_second_voice_that_is_still_awaited_is_known_by_role():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-10"), book.approve_first_voice(101))
    turn = turns(book, as_of=date(2026, 3, 12))[101][1]
    assert [(part.role, part.by, part.working) for part in turn.parts] == [
        ("art_director", "Corvin Mallowe", 2),
        ("editor", "", 2),
    ]


def test_a_withdrawn_hand_in_gives_the_days_back_to_the_illustrator():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06", hour=9))
    book.withdraw(101, day("2026-03-06", hour=15))
    book.hand_in(101, day("2026-03-11"))
    found = turns(book, as_of=date(2026, 3, 11))[101]
    assert [(turn.side, turn.working) for turn in found] == [
        (Side.ILLUSTRATOR, 4),
        (Side.PUBLISHER, 0),
        (Side.ILLUSTRATOR, 3),
        (Side.PUBLISHER, 0),
    ]


def test_a_turn_is_judged_by_the_terms_of_the_day_it_began():
    slower = plain_terms(version=2, from_on=date(2026, 3, 10), stages=(StageDays("sketch", 5, 30),))
    found = turns(approved_book(), TermsHistory((plain_terms(), slower)))[101]
    assert [turn.version for turn in found] == [1, 1, 2, 2]
    assert (found[1].allowed, found[3].allowed) == (3, 30)


def test_a_stage_without_days_in_the_terms_cannot_be_late():
    only_colour = history(stages=(StageDays("colour", 5, 3),), groups=())
    found = turns(approved_book(), only_colour)[101]
    assert [turn.due_on for turn in found] == [None] * 4
    assert add_up(found).illustrator_late == add_up(found).publisher_late == 0


def test_at_a_stage_the_terms_do_not_name_the_date_that_was_told_holds():
    only_colour = history(stages=(StageDays("colour", 5, 3),), groups=())
    book = opened_with(Ledger(n_spreads=1, stages=("sketch",)), "2026-03-06")
    book.hand_in(101, day("2026-03-10")).data["answer_due_on"] = "2026-03-16"
    book.letter(day("2026-03-17"), book.ask(101, due_on="2026-03-20"))
    found = turns(book, only_colour, as_of=date(2026, 3, 23))[101]
    assert [(turn.due_on, turn.late) for turn in found] == [
        (date(2026, 3, 6), 2),
        (date(2026, 3, 16), 1),
        (date(2026, 3, 20), 1),
    ]


rules = st.fixed_dictionaries(
    {
        "places": st.sampled_from([(), ("GB-ENG",), ("US",), ("GB-ENG", "US"), ("IL", "GB-ENG"), ("", "US")]),
        "own_places": st.booleans(),
        "zone": st.sampled_from(["UTC", "Europe/London", "America/New_York", "Asia/Tokyo"]),
        "cut_off": st.sampled_from([None, time(12), time(17)]),
        "late_receipt": st.sampled_from(["as-is", "next-working-day"]),
        "counts_receipt": st.booleans(),
        "silence_approves_after": st.sampled_from([None, 3, 20]),
    }
)


#: The go-ahead of 2 March comes after Tokyo's noon, so that its first day is the 3rd: a turn that is still to begin.
TOKYO = {
    "places": (), "own_places": False, "zone": "Asia/Tokyo", "cut_off": time(12), "late_receipt": "next-working-day",
    "counts_receipt": True, "silence_approves_after": None,
}  # fmt: skip


@given(ledgers(), rules, st.integers(0, 400))
@example(Ledger(n_spreads=1), TOKYO, 0)
@settings(max_examples=150)
def test_illustrator_publisher_holidays_and_weekends_are_the_calendar(book, rule, more_days):
    """Every day between go-ahead and approval belongs to exactly one side, one weekend or one holiday."""
    as_of = book.entries[-1].at.date() + timedelta(more_days)
    terms = history(**rule)
    for found in turns(book, terms, as_of).values():
        total = add_up(found)
        assert total.calendar_days == sum((turn.until_on - turn.since_on).days for turn in found)
        for turn in found:
            assert turn.calendar_days == turn.working - turn.both + turn.weekend + turn.holiday
            assert turn.until_on <= max(as_of, turn.since_on)
            assert min(turn.working, turn.weekend, turn.holiday, turn.calendar_days) >= 0
            assert sum(part.working for part in turn.parts) == turn.working
        for earlier, later in pairwise(found):
            assert earlier.ends_on <= later.from_on
            if earlier.entries[-1] == later.entries[0]:
                # One entry gave it from hand to hand; otherwise it was approved in between, and nobody's.
                assert earlier.until_on == later.since_on


@given(ledgers(), rules)
@settings(max_examples=100)
def test_no_date_to_answer_or_to_hand_in_by_is_a_closed_day(book, rule):
    terms = history(**rule)
    for found in turns(book, terms).values():
        for turn in found:
            assert turn.due_on is None or terms.versions[0].calendar_of(turn.side).is_working(turn.due_on)


@given(ledgers(), st.data())
@settings(max_examples=60)
def test_a_later_amendment_changes_no_turn_that_began_before_it(book, data):
    last = book.entries[-1].at.date()
    from_on = data.draw(st.dates(date(2026, 3, 3), last + timedelta(10)))
    amended = TermsHistory(
        (plain_terms(), plain_terms(version=2, from_on=from_on, stages=(StageDays("sketch", 1, 1),), places=("US",)))
    )
    before, after = turns(book), turns(book, amended)
    for passage, found in before.items():
        for plain, turn in zip(found, after[passage], strict=True):
            if turn.from_on < from_on:
                assert turn == plain


@pytest.mark.parametrize("deed", ["pin-note", "take-seat"])
def test_other_deeds_give_nobody_a_day(deed):
    book = approved_book()
    before = turns(book)
    book.add(day("2026-03-11"), deed, CORVIN, 101)
    assert turns(book) == before


def opened_with(book, due_on):
    """Let the go-ahead say by when the opened stage is due, as the real ledger does."""
    first = book.entries[0]
    first.data["dues"] = dict.fromkeys((str(passage) for passage in first.data["opens"]), due_on)
    return book


def test_nobody_is_late_before_the_planned_date_of_a_stage_that_opened_early():
    book = opened_with(Ledger(n_spreads=1, stages=("sketch",)), "2026-03-20")
    found = turns(book, as_of=date(2026, 3, 20))[101][0]
    assert (found.working, found.allowed, found.due_on, found.late) == (14, 5, date(2026, 3, 20), 0)
    assert turns(book, as_of=date(2026, 3, 24))[101][0].late == 2


def test_an_earlier_planned_date_does_not_shorten_the_days_of_the_terms():
    book = opened_with(Ledger(n_spreads=1, stages=("sketch",)), "2026-03-04")
    assert turns(book, as_of=date(2026, 3, 10))[101][0].due_on == date(2026, 3, 9)


@pytest.mark.parametrize(("to", "late"), [("2026-03-16", 0), ("2026-03-11", 1)])
def test_lateness_is_counted_from_a_date_that_was_moved(to, late):
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.move(101, day("2026-03-05"), to)
    book.hand_in(101, day("2026-03-12"))
    found = turns(book)[101][0]
    assert (found.due_on, found.late) == (date.fromisoformat(to), late)
