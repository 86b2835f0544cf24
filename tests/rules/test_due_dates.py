from datetime import date, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.pages.wording.due_dates import cannot_meet_words, move_words
from reviews.pages.wording.refusals import sentence_for
from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.days import add_working_days, on_or_before
from reviews.rules.contract.due_dates import due_dates_of
from reviews.rules.contract.out_of_reach import cannot_meet, check_end
from reviews.rules.contract.plans import PlannedStage, due_dates_backward
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import StageDays
from reviews.rules.contract.timeline import tell
from reviews.rules.contract.turns import all_turns
from reviews.rules.states import Gate, Refused, Side, StageKind
from tests.rules.ledgers import Ledger, day, history, ledgers, plain_terms, turns

SKETCH = PlannedStage(kind=StageKind.SKETCH, gate=Gate.ANSWERS, hand_in_days=5, answer_days=3, rounds=2)
INK = PlannedStage(kind=StageKind.INK, gate=Gate.SHOWN, hand_in_days=4, answer_days=9, rounds=0)
COLOUR = PlannedStage(kind=StageKind.COLOUR, gate=Gate.ANSWERS, hand_in_days=5, answer_days=3, rounds=2)


def due(book, terms=None, as_of=date(2027, 1, 1)):
    receipts = Receipts(terms or history())
    story = tell(book.entries, book.spreads)
    return due_dates_of(story, receipts, all_turns(story, receipts, as_of), as_of)


def unmeetable(book, final_on, today, terms=None):
    terms = terms or plain_terms()
    story = tell(book.entries, book.spreads)
    return cannot_meet(story, terms, all_turns(story, Receipts(history(terms)), today), final_on, today)


#: 1,600 working days of a spread that is answered twice, about six years.
SLOW = (StageDays("sketch", 400, 400), StageDays("colour", 400, 400))


def test_terms_that_end_years_away_are_refused_with_what_to_change():
    book = Ledger(1)
    with pytest.raises(Refused) as refused:
        check_end(tell(book.entries, book.spreads), plain_terms(stages=SLOW), date(2026, 3, 2))
    ends_on = add_working_days(date(2026, 3, 2), 1600, working_calendar())
    assert sentence_for(refused.value) == (
        f"With every day of these terms kept from 2 March 2026 on, Opening 1 would be done on {ends_on.day} "
        f"{ends_on:%B %Y}, more than 5 years later. Give its stages fewer days."
    )


def test_only_what_is_left_to_do_is_judged_and_from_the_day_the_terms_hold():
    story = tell(Ledger(1).entries, Ledger(1).spreads)
    check_end(story, plain_terms(stages=(SLOW[0], StageDays("colour", 200, 200))), date(2026, 3, 2))
    check_end(story, plain_terms(from_on=date(2045, 3, 2)), date(2026, 3, 2))
    # Nobody answers what is only shown, so its days to answer are not counted.
    shown = Ledger(1, gate="shown")
    check_end(tell(shown.entries, shown.spreads), plain_terms(stages=SLOW), date(2026, 3, 2))


def test_planned_backwards_from_the_last_day():
    # A stage that is only shown takes no days to answer, whatever the plan has there.
    planned = due_dates_backward(date(2026, 5, 29), [SKETCH, INK, COLOUR], working_calendar())
    assert planned == [date(2026, 5, 8), date(2026, 5, 19), date(2026, 5, 26)]


@given(st.dates(date(2020, 1, 1), date(2035, 1, 1)), st.lists(st.sampled_from([SKETCH, INK, COLOUR]), min_size=1))
def test_each_planned_day_is_worked_by_the_illustrator_and_they_come_in_order(final_on, stages):
    drawing, answering = working_calendar(["GB-ENG"]), working_calendar(["US"])
    planned = due_dates_backward(on_or_before(final_on, answering), stages, drawing, answering)
    assert all(drawing.is_working(on) for on in planned)
    assert planned == sorted(planned) and planned[-1] <= final_on


def test_what_can_still_be_met_is_walked_by_the_calendars_of_both_sides():
    """Five days to draw from Thursday 26 March, then three to answer; Good Friday and Easter Monday are English."""
    book = Ledger(n_spreads=1, stages=("sketch",), at=day("2026-03-26"))
    apart = {"places": ("GB-ENG", "US"), "own_places": True}
    [told] = unmeetable(book, date(2026, 4, 1), date(2026, 3, 27), plain_terms(**apart))
    # Drawn by Thursday 2 April; answered on Friday, Monday and Tuesday, which the United States work.
    assert told.earliest_on == date(2026, 4, 7)
    [joint] = unmeetable(book, date(2026, 4, 1), date(2026, 3, 27), plain_terms(**apart | {"own_places": False}))
    assert joint.earliest_on == date(2026, 4, 9)
    assert unmeetable(book, date(2026, 4, 7), date(2026, 3, 27), plain_terms(**apart)) == []


def test_a_date_moved_with_a_reason_says_why():
    book = Ledger(n_spreads=1)
    book.move(101, day("2026-03-04"), "2026-03-12", "A wedding in the family")
    found = due(book, as_of=date(2026, 3, 5))[101]
    assert (found.planned_on, found.current_on) == (date(2026, 3, 9), date(2026, 3, 12))
    words = "A wedding in the family (entered by one side: Corvin Mallowe)"
    assert [(move.seq, move.why, move_words(move)) for move in found.moves] == [(2, "moved", words)]
    assert 2 in found.entries


def late_answer_book():
    """Three days to answer a hand-in of Friday 6 March; the approval comes on Monday 16th, three days late."""
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-16"), book.approve(101))
    return book


def test_the_publishers_late_days_move_the_next_date_day_for_day():
    found = due(late_answer_book(), history(publisher_late_moves=True), as_of=date(2026, 3, 17))[102]
    assert (found.planned_on, found.current_on) == (date(2026, 3, 20), date(2026, 3, 25))
    assert move_words(found.moves[0]) == "the publisher answered 3 working days late at sketch"
    assert found.moves[0].seq == 3


def test_an_answer_sent_after_the_cut_off_moves_dates_on_the_evening_it_is_sent():
    """It counts as received on Monday; over the weekend the next stage must not seem to have its old date again."""
    terms = history(publisher_late_moves=True, cut_off=time(18), late_receipt="next-working-day")
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-13", 19), book.approve(101) | {"dues": {"102": "2026-03-25"}})
    for as_of in (date(2026, 3, 13), date(2026, 3, 15), date(2026, 3, 16)):
        found = due(book, terms, as_of)[102]
        # Due by Wednesday 11th, received on Monday 16th: three days late, told from the evening on.
        assert (found.current_on, [move.why for move in found.moves]) == (date(2026, 3, 25), ["publisher-late"]), as_of


def test_a_late_answer_does_not_move_the_date_it_sets_itself():
    """Changes asked for late come with their own date; the days lost are in it already, and move the next stage."""
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-16"), book.ask(101, due_on="2026-03-23"))
    found = due(book, history(publisher_late_moves=True), as_of=date(2026, 3, 17))
    assert (found[101].current_on, [move.why for move in found[101].moves]) == (date(2026, 3, 23), ["changes-asked"])
    assert found[102].current_on == date(2026, 3, 25)


def test_late_days_move_nothing_unless_the_terms_say_so():
    found = due(late_answer_book(), history(publisher_late_moves=False), as_of=date(2026, 3, 17))[102]
    assert (found.current_on, found.moves) == (date(2026, 3, 20), ())


def test_an_answer_that_is_still_awaited_moves_the_date_on_every_late_day():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    terms = history(publisher_late_moves=True)
    assert due(book, terms, as_of=date(2026, 3, 11))[102].current_on == date(2026, 3, 20)
    assert due(book, terms, as_of=date(2026, 3, 12))[102].current_on == date(2026, 3, 23)
    assert due(book, terms, as_of=date(2026, 3, 13))[102].current_on == date(2026, 3, 24)


def test_changes_asked_for_set_the_next_date():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-10"), book.ask(101, due_on="2026-03-17"))
    found = due(book, as_of=date(2026, 3, 11))[101]
    assert (found.current_on, found.moves[-1].why) == (date(2026, 3, 17), "changes-asked")
    # The first hand-in was in time for the date that held then.
    assert found.late == 0


def test_lateness_is_counted_from_the_date_that_held():
    book = Ledger(n_spreads=1)
    book.move(101, day("2026-03-04"), "2026-03-12")
    book.hand_in(101, day("2026-03-16"))
    found = due(book)[101]
    assert (found.met_on, found.late) == (date(2026, 3, 16), 2)


def weekend_letter(moved_at):
    """Sketch in on 16 March, approved on Saturday 28th, deemed Monday 30th; colour's date agreed soon after."""
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-16"))
    book.letter(day("2026-03-28", 10), book.approve(101) | {"dues": {"102": "2026-04-27"}})
    book.move(102, moved_at, "2026-04-22")
    return book


@pytest.mark.parametrize("moved_at", [day("2026-03-28", 11), day("2026-03-29", 20)])
@pytest.mark.parametrize("late_moves", [True, False])
def test_a_date_agreed_before_a_weekend_letter_counts_as_received_holds(moved_at, late_moves):
    """The ledger tells the letter first and the agreement after it, whichever day the letter is deemed to come on."""
    terms = history(
        late_receipt="next-working-day",
        publisher_late_moves=late_moves,
        stages=(StageDays("sketch", 5, 3), StageDays("colour", 20, 5)),
    )
    book = weekend_letter(moved_at)
    for as_of in (date(2026, 3, 29), date(2026, 3, 30), date(2026, 4, 24)):
        found = due(book, terms, as_of)[102]
        assert found.current_on == date(2026, 4, 22) == turns(book, terms, as_of)[102][-1].due_on, as_of
        assert found.moves[-1].why == "moved"
    # Two working days after the agreed day, as the turn says too.
    assert found.late == 2 == turns(book, terms, as_of)[102][-1].late


def test_a_date_agreed_the_evening_of_a_letter_after_the_cut_off_holds():
    terms = history(late_receipt="next-working-day", cut_off=time(17))
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-16"))
    book.letter(day("2026-03-19", 18), book.approve(101) | {"dues": {"102": "2026-04-20"}})
    book.move(102, day("2026-03-19", 19), "2026-04-01")
    assert due(book, terms, date(2026, 3, 25))[102].current_on == date(2026, 4, 1)


def test_an_answer_that_is_late_still_moves_a_date_agreed_meanwhile():
    """Its days run on from whatever date holds now, though the hand-in is the older line of the ledger."""
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.move(102, day("2026-03-09"), "2026-03-31")
    found = due(book, history(publisher_late_moves=True), as_of=date(2026, 3, 13))[102]
    assert (found.current_on, [move.why for move in found.moves]) == (date(2026, 4, 2), ["moved", "publisher-late"])


def test_a_hand_in_that_was_taken_back_was_not_the_first():
    """Due on Monday 9 March; handed in on the 5th and taken back the same day, truly handed in on the 11th."""
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-05", 10))
    book.withdraw(101, day("2026-03-05", 15))
    found = due(book, as_of=date(2026, 3, 10))[101]
    assert (found.met_on, found.late) == (None, 1)
    book.hand_in(101, day("2026-03-11"))
    found = due(book, as_of=date(2026, 3, 12))[101]
    assert (found.met_on, found.late, found.entries) == (date(2026, 3, 11), 2, (1, 3, 4))
    # What came after it, and was answered, changes nothing of it.
    book.letter(day("2026-03-13"), book.ask(101, due_on="2026-03-20"))
    book.hand_in(101, day("2026-03-18"))
    book.withdraw(101, day("2026-03-18", 15))
    assert due(book, as_of=date(2026, 3, 19))[101].met_on == date(2026, 3, 11)


def test_what_is_not_handed_in_yet_gets_later_every_working_day():
    book = Ledger(n_spreads=1)
    assert due(book, as_of=date(2026, 3, 9))[101].late == 0
    assert due(book, as_of=date(2026, 3, 11))[101].late == 2


@given(ledgers(), st.integers(0, 60))
@settings(max_examples=60)
def test_moves_lead_from_the_planned_to_the_current_date(book, more):
    as_of = book.entries[-1].at.date() + timedelta(more)
    for found in due(book, history(publisher_late_moves=True, places=("GB-ENG",)), as_of).values():
        on = found.planned_on
        for move in found.moves:
            assert move.from_on == on
            on = move.to_on
        assert found.current_on == on


# Sketch 5 + 3 days, colour 5 + 3: sixteen working days from Monday 2 March end on Tuesday 24 March.
FINAL = date(2026, 3, 24)


def test_a_plan_that_can_just_be_met_is_not_complained_of():
    book = Ledger(n_spreads=1)
    assert unmeetable(book, FINAL, date(2026, 3, 2)) == []
    assert unmeetable(book, FINAL, date(2026, 3, 9)) == []


def test_a_date_that_cannot_be_met_is_said_on_the_day_it_becomes_so():
    book = Ledger(n_spreads=1)
    told = unmeetable(book, FINAL, date(2026, 3, 10))[0]
    assert (told.since_on, told.earliest_on, told.waits_for) == (date(2026, 3, 10), date(2026, 3, 25), Side.ILLUSTRATOR)
    assert "Opening 1 cannot be done by 24 March 2026 any more" in cannot_meet_words(told)
    later = unmeetable(book, FINAL, date(2026, 3, 18))[0]
    assert (later.since_on, later.earliest_on) == (date(2026, 3, 10), date(2026, 4, 2))


def test_days_the_publisher_loses_count_as_well():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-09"))
    assert unmeetable(book, FINAL, date(2026, 3, 12)) == []
    told = unmeetable(book, FINAL, date(2026, 3, 13))[0]
    assert (told.waits_for, told.since_on) == (Side.PUBLISHER, date(2026, 3, 13))


def test_a_plan_that_never_could_be_met_is_said_from_the_first_day():
    book = Ledger(n_spreads=1)
    told = unmeetable(book, date(2026, 3, 20), date(2026, 3, 3))[0]
    assert told.since_on == date(2026, 3, 2)


def test_a_spread_that_is_done_is_not_complained_of():
    book = Ledger(n_spreads=1, stages=("sketch",))
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-10"), book.approve(101))
    assert unmeetable(book, date(2026, 3, 1), date(2026, 6, 1)) == []


@given(ledgers(), st.integers(0, 30), st.integers(0, 60))
@settings(max_examples=80)
def test_cannot_meet_was_silent_the_day_before_it_became_so(book, more, slack):
    """On `since_on` it is told; a working day earlier, with the same ledger, it is not."""
    last = book.entries[-1].at.date()
    terms, calendar = plain_terms(), working_calendar()
    today = add_working_days(last, more + 1, calendar)
    for told in unmeetable(book, last + timedelta(slack), today):
        assert told.earliest_on > told.final_on
        if told.since_on > last + timedelta(1):
            before = add_working_days(told.since_on, -1, calendar)
            assert told.spread not in {one.spread for one in unmeetable(book, last + timedelta(slack), before, terms)}


def test_a_stage_that_opens_too_late_for_its_planned_date_gets_the_date_it_opened_with():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    entry = book.letter(day("2026-03-19"), book.approve(101) | {"dues": {"102": "2026-03-26"}})
    found = due(book)[102]
    assert (found.planned_on, found.current_on) == (date(2026, 3, 20), date(2026, 3, 26))
    assert [(move.seq, move.why) for move in found.moves] == [(entry.seq, "opened-late")]


def test_a_stage_has_its_own_days_however_long_the_date_of_the_stage_before_it_stood():
    """Sketches that both sides had put off to 30 April are approved on 16 March: colour is due five days later."""
    book = Ledger(1, due_on=("2026-03-09", "2026-03-20"))
    book.hand_in(101, day("2026-03-12"))
    book.letter(day("2026-03-16"), book.approve(101) | {"dues": {"102": "2026-03-23"}, "stood_on": "2026-04-30"})
    [_, colour] = draw_up(book.entries, history(), date(2026, 3, 17), book.spreads).lines
    assert (colour.turns[-1].due_on, colour.due.current_on) == (date(2026, 3, 23), date(2026, 3, 23))


def test_a_stage_that_opens_in_time_keeps_its_planned_date():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-10"), book.approve(101) | {"dues": {"102": "2026-03-20"}})
    assert due(book)[102].moves == ()


def test_late_days_are_not_moved_twice_when_the_stage_opens():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    # Due by Wednesday 11th, answered on Friday 13th: two days late. The portal opened the next stage with both.
    book.letter(day("2026-03-13"), book.approve(101) | {"dues": {"102": "2026-03-24"}})
    found = due(book, history(publisher_late_moves=True))[102]
    assert found.current_on == date(2026, 3, 24)
    assert [move.why for move in found.moves] == ["publisher-late"]


def test_a_hand_in_that_was_taken_back_brings_the_end_no_nearer_and_no_further():
    """Drawn for four of five days, handed in and taken back on one day: one day is left, then three to answer."""
    book = Ledger(1, stages=("sketch",))
    book.hand_in(101, day("2026-03-06", 10))
    book.withdraw(101, day("2026-03-06", 15))
    assert unmeetable(book, date(2026, 3, 12), date(2026, 3, 6)) == []
    [told] = unmeetable(book, date(2026, 3, 11), date(2026, 3, 6))
    assert told.earliest_on == date(2026, 3, 12)
