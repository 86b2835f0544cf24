"""Which dates were kept, told from the ledger."""

from datetime import UTC, date, datetime

from reviews.rules.calendars import working_calendar
from reviews.rules.dates_met import dates_met
from reviews.rules.days import DayRule
from reviews.rules.entries import Entry
from reviews.rules.states import Deed

PLANNED = {"passages": [{"passage": 1, "due_on": "2026-12-01"}]}


def entry(seq, day, deed, data, passage=1, hour=12):
    return Entry(seq, datetime(2026, 12, day, hour, tzinfo=UTC), deed, "illustrator", "Juniper Aldersea", passage, data)


def handed_in(seq, day, number=1, **more):
    return entry(seq, day, Deed.HAND_IN, {"number": number, "answer_due_on": "2026-12-09"}, **more)


def letter(seq, day, to, due_on="2026-12-22"):
    return entry(seq, day, Deed.SEND_LETTER, {"answers": [{"passage": 1, "to": to, "due_on": due_on}]}, None)


def met(*entries, zone="UTC"):
    book = entry(1, 1, Deed.MAKE_BOOK, PLANNED, None)
    return dates_met([book, *entries], calendar=working_calendar([]), rule=DayRule(zone=zone))[1]


def test_a_hand_in_on_its_day_is_in_time_and_names_its_line():
    [kept] = met(handed_in(2, 1)).kept
    assert (kept.due_on, kept.done_on, kept.late, kept.seq) == (date(2026, 12, 1), date(2026, 12, 1), 0, 2)


def test_lateness_is_counted_in_working_days():
    # Tuesday 1 December due; Monday 7 December done: Wednesday, Thursday, Friday, Monday.
    assert met(handed_in(2, 7)).kept[0].late == 4


def test_the_day_is_the_one_on_the_wall_where_the_book_counts():
    assert met(handed_in(2, 1, hour=23), zone="Europe/London").kept[0].late == 0
    assert met(handed_in(2, 1, hour=23), zone="Europe/Paris").kept[0].late == 1


def test_a_moved_date_is_the_one_that_counts():
    moved = entry(2, 1, Deed.MOVE_DUE_DATE, {"which": "hand-in", "to": "2026-12-08"})
    dates = met(moved, handed_in(3, 7))
    assert (dates.kept[0].late, dates.moves) == (0, [2])


def test_a_stage_that_opens_late_is_given_the_date_the_ledger_says():
    opened = letter(2, 1, "approved")
    opened.data["answers"][0]["dues"] = {"1": "2026-12-08"}
    assert met(opened, handed_in(3, 8)).kept[-1].late == 0


def test_a_late_answer_is_told_and_sets_the_next_date():
    dates = met(handed_in(2, 1), letter(3, 11, "drawing"))
    answered = dates.last("answer")
    assert (answered.due_on, answered.late, answered.number) == (date(2026, 12, 9), 2, 1)
    assert dates.due_on == date(2026, 12, 22)


def test_an_approval_that_waits_is_no_answer_until_the_second_voice_agrees():
    waits = letter(3, 8, "answering")
    assert met(handed_in(2, 1), waits).last("answer") is None
    agreed = entry(4, 10, Deed.AGREE, {"to": "approved"})
    assert met(handed_in(2, 1), waits, agreed).last("answer").late == 1


def test_a_change_to_something_approved_answers_nothing_that_was_due():
    dates = met(handed_in(2, 1), letter(3, 8, "approved"), letter(4, 18, "drawing"))
    assert [kept.seq for kept in dates.kept if kept.side == "answer"] == [3]


def test_a_withdrawn_hand_in_met_nothing():
    withdrawn = entry(3, 1, Deed.WITHDRAW_HAND_IN, {"number": 1})
    assert met(handed_in(2, 1), withdrawn).kept == []
