"""Pauses, each counted by hand on a wall calendar of 2026: their days are nobody's, and dates move by them.

The week is Monday to Friday without holidays; a sketch has five days to draw and three to answer. Made-up books.
"""

from datetime import UTC, date, datetime, timedelta

import pytest

from reviews.pages.wording.terms import rule_lines
from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.date_moves import check_moves
from reviews.rules.contract.days import add_working_days
from reviews.rules.contract.out_of_reach import cannot_meet
from reviews.rules.contract.pauses import Pause, check_change, check_pause, moved_by
from reviews.rules.contract.periods import DayUnit, StageSilence
from reviews.rules.contract.recount import count_again, export, figures
from reviews.rules.contract.silence import silences
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import StageDays
from reviews.rules.contract.timeline import tell
from reviews.rules.due_events import events_of
from reviews.rules.reminders import reminders_of
from reviews.rules.states import Deed, Refused, Side
from tests.rules.ledgers import Ledger, day, history, plain_terms, turns

WEEK = working_calendar()


def drawn_up(book: Ledger, as_of: date, terms=None):
    return draw_up(book.entries, terms or history(), as_of, book.spreads)


def line_of(book: Ledger, as_of: date, passage: int = 101, terms=None):
    return next(line for line in drawn_up(book, as_of, terms).lines if line.passage == passage)


class TestAPauseAgreedBeforehand:
    """Begun on Monday 2 March, due on the 9th; on Tuesday the 3rd both agree to rest from the 5th to the 11th."""

    @pytest.fixture
    def book(self):
        book = Ledger(1)
        book.pause(day("2026-03-03"), "2026-03-05", "2026-03-11")
        return book

    def test_its_days_are_nobodys_and_named(self, book):
        # Thursday, Friday, Monday, Tuesday, Wednesday rest: of 16 days to the 18th, 4 are weekend, 7 worked.
        line = line_of(book, date(2026, 3, 18))
        assert (line.days.illustrator, line.days.weekend, line.days.paused, line.days.publisher) == (7, 4, 5, 0)
        assert line.days.calendar_days == 16
        distinct = drawn_up(book, date(2026, 3, 18)).distinct
        assert (distinct.drawing, distinct.paused, distinct.nobody, distinct.calendar_days) == (7, 5, 4, 16)
        [pause] = drawn_up(book, date(2026, 3, 18)).pauses
        assert (pause.first, pause.last, pause.reason) == (date(2026, 3, 5), date(2026, 3, 11), "A broken wrist")

    def test_the_date_in_it_moves_by_it(self, book):
        # Of the five days Tuesday and Wednesday were before it; three remain: Thursday 12, Friday 13, Monday 16.
        line = line_of(book, date(2026, 3, 4))
        assert line.due.current_on == line.turns[-1].due_on == date(2026, 3, 16)
        assert [(move.why, move.to_on) for move in line.due.moves] == [("paused", date(2026, 3, 16))]

    def test_the_date_of_a_stage_still_closed_moves_too(self, book):
        before = Ledger(1)
        planned = line_of(before, date(2026, 3, 4), 102).due.current_on
        moved = line_of(book, date(2026, 3, 4), 102).due.current_on
        assert moved == moved_by(
            planned, WEEK, working_calendar(paused=_days("2026-03-05", "2026-03-11")), date(2026, 3, 5)
        )
        assert WEEK.count(planned, moved) == 5

    def test_nothing_is_late_in_it_and_nobody_is_reminded(self, book):
        for n in range(5, 12):
            found = drawn_up(book, date(2026, 3, n))
            assert reminders_of(found) == () and found.days.illustrator_late == 0
        assert [told.due_on for told in reminders_of(drawn_up(book, date(2026, 3, 12)))] == [date(2026, 3, 16)]
        assert line_of(book, date(2026, 3, 18)).days.illustrator_late == 2

    def test_what_is_handed_in_during_it_waits_for_its_end(self, book):
        book.hand_in(101, day("2026-03-09"))
        turn = line_of(book, date(2026, 3, 13)).turns[-1]
        # Three days from the first that counts after it: Thursday 12, Friday 13, Monday 16.
        assert (turn.side, turn.due_on, turn.working, turn.late) == (Side.PUBLISHER, date(2026, 3, 16), 2, 0)

    def test_the_calendar_has_its_new_date_under_a_higher_number(self, book):
        plain = Ledger(1)
        names = {"book_key": "1", "person_key": "1", "title": "Book"}
        as_of = date(2026, 3, 4)
        [told] = _events(book, as_of, names)
        [before] = _events(plain, as_of, names)
        assert (told.uid, told.on) == (before.uid, date(2026, 3, 16)) and told.sequence > before.sequence

    def test_a_recount_of_an_export_counts_it(self, book):
        file = export("Book", date(2026, 3, 18), None, book.spreads.values(), history(), book.entries)
        assert figures(count_again(file)) == file["figures"]
        assert file["figures"]["days"]["paused"] == 5 and file["figures"]["pauses"][0]["last"] == "2026-03-11"
        file["entries"] = [line for line in file["entries"] if line["deed"] != Deed.AGREE_PAUSE]
        assert figures(count_again(file)) != file["figures"]

    def test_figures_of_a_book_without_one_are_as_they_were(self):
        found = figures(drawn_up(Ledger(1), date(2026, 3, 18)))
        assert "pauses" not in found and "paused" not in found["days"] and "paused" not in found["days_of_the_calendar"]

    def test_it_ends_early_and_the_date_comes_back_by_as_much(self, book):
        # On Friday the 6th both agree that Monday the 9th is its last day: two days less.
        book.pause(day("2026-03-06"), "2026-03-05", "2026-03-09", pause=1)
        line = line_of(book, date(2026, 3, 18))
        assert line.due.current_on == date(2026, 3, 12) and line.days.paused == 3
        [pause] = drawn_up(book, date(2026, 3, 18)).pauses
        assert pause.last == date(2026, 3, 9) and len(pause.entries) == 2
        # The account of an earlier day stands.
        assert line_of(book, date(2026, 3, 5)).due.current_on == date(2026, 3, 16)

    def test_it_is_lengthened_and_the_date_moves_on(self, book):
        book.pause(day("2026-03-10"), "2026-03-05", "2026-03-13", pause=1)
        assert line_of(book, date(2026, 3, 10)).due.current_on == date(2026, 3, 18)

    def test_called_off_before_it_begins_nothing_of_it_is_left(self, book):
        book.pause(day("2026-03-04"), "2026-03-05", None, pause=1)
        line = line_of(book, date(2026, 3, 18))
        assert (line.due.current_on, line.days.paused) == (date(2026, 3, 9), 0)
        assert drawn_up(book, date(2026, 3, 18)).pauses == ()


def _days(first: str, last: str) -> list[date]:
    start, end = date.fromisoformat(first), date.fromisoformat(last)
    return [start + timedelta(n) for n in range((end - start).days + 1)]


def _events(book: Ledger, as_of: date, names: dict[str, str]):
    from reviews.rules.contract.timeline import tell

    story = tell(book.entries, book.spreads)
    found = events_of(story, drawn_up(book, as_of), [Side.ILLUSTRATOR], **names)
    return [event for event in found if event.stage == "sketch"]


class TestAPauseAgreedAfterwards:
    """Due on Monday 9 March; on the 16th both agree that the work rested from Thursday the 5th to Friday the 13th.

    By then five working days were late: Tuesday to Friday, and Monday the 16th.
    """

    @staticmethod
    def book(forgives=()) -> Ledger:
        book = Ledger(1)
        book.pause(day("2026-03-16"), "2026-03-05", "2026-03-13", forgives=forgives)
        return book

    def test_what_was_late_until_then_stays_late(self):
        line = line_of(self.book(), date(2026, 3, 17))
        assert (line.days.illustrator_late, line.days.illustrator_forgiven) == (5, 0)
        assert (line.days.paused, line.days.illustrator) == (7, 4)

    def test_the_statement_of_the_day_before_stands(self):
        assert figures(drawn_up(self.book(), date(2026, 3, 15))) == figures(drawn_up(Ledger(1), date(2026, 3, 15)))

    def test_forgiven_it_counts_as_if_it_had_been_agreed_before(self):
        # The date moves to Wednesday the 18th: nothing is late on the 17th, all five days are forgiven.
        book = self.book([Side.ILLUSTRATOR.value])
        line = line_of(book, date(2026, 3, 17))
        assert (line.days.illustrator_late, line.days.illustrator_forgiven) == (0, 5)
        assert line.due.current_on == date(2026, 3, 18)
        assert line_of(book, date(2026, 3, 20)).days.illustrator_late == 2

    def test_forgiving_one_side_forgives_nothing_to_the_other(self):
        line = line_of(self.book([Side.PUBLISHER.value]), date(2026, 3, 17))
        assert (line.days.illustrator_late, line.days.illustrator_forgiven) == (5, 0)

    @pytest.mark.parametrize(("forgives", "late"), [((), 4), ((Side.ILLUSTRATOR.value,), 0)])
    def test_what_was_handed_in_before_the_agreement_is_counted_alike(self, forgives, late):
        book = Ledger(1)
        book.hand_in(101, day("2026-03-13"))
        assert line_of(book, date(2026, 3, 13)).days.illustrator_late == 4
        book.pause(day("2026-03-16"), "2026-03-05", "2026-03-12", forgives=forgives)
        # Without the days of the pause, the third remaining day of the five is Tuesday the 17th.
        line = line_of(book, date(2026, 3, 16))
        assert (line.days.illustrator_late, line.days.illustrator_forgiven) == (late, 4 - late)

    def test_late_days_that_stay_are_within_the_days_of_the_calendar_told_as_late(self):
        distinct = drawn_up(self.book(), date(2026, 3, 17)).distinct
        assert distinct.illustrator_late == 5
        assert distinct.calendar_days == distinct.working + distinct.nobody + distinct.paused


class TestSilence:
    TERMS = {"silence_approves_after": 5}

    @pytest.mark.parametrize("unit", list(DayUnit))
    def test_silence_does_not_run_while_the_work_rests(self, unit):
        stages = (StageDays("sketch", 5, 2, unit=unit), StageDays("colour", 5, 2))
        terms = history(stages=stages, silences=(StageSilence("sketch", 5, unit),))
        book = Ledger(1)
        book.hand_in(101, day("2026-03-04"))
        before = turns(book, terms, date(2026, 3, 5))[101][-1].silence_on
        book.pause(day("2026-03-05"), "2026-03-06", "2026-03-20", terms)
        after = drawn_up(book, date(2026, 3, 5), terms).lines[0].turns[-1].silence_on
        # Wednesday the 4th and five days: working days end on Wednesday the 11th; eleven of them rest from the 6th.
        # Days of the calendar: the 9th; four were left after the 5th, from Saturday the 21st to Tuesday the 24th.
        expected = {DayUnit.WORKING: ("2026-03-11", "2026-03-26"), DayUnit.CALENDAR: ("2026-03-09", "2026-03-24")}
        assert (before.isoformat(), after.isoformat()) == expected[unit]

    def test_nothing_is_announced_or_approved_on_its_days(self):
        terms = history(**self.TERMS)
        book = Ledger(1)
        book.hand_in(101, day("2026-03-04"))
        book.announce(101, day("2026-03-06"), "2026-03-11")
        book.pause(day("2026-03-09"), "2026-03-10", "2026-03-31", terms)
        for n in range(10, 32):
            assert silences(drawn_up(book, date(2026, 3, n), terms)) == []
        # Of the five days the 5th, 6th and 9th were before it; two are left, and end on Thursday 2 April.
        turn = drawn_up(book, date(2026, 4, 1), terms).lines[0].turns[-1]
        assert turn.silence_on == date(2026, 4, 2)
        assert silences(drawn_up(book, date(2026, 4, 2), terms)) == []
        assert [one.deed for one in silences(drawn_up(book, date(2026, 4, 3), terms))] == [Deed.APPROVE_BY_SILENCE]


def test_a_period_of_calendar_days_is_longer_by_the_days_of_the_pause():
    terms = history(stages=(StageDays("sketch", 21, 14, unit=DayUnit.CALENDAR), StageDays("colour", 5, 3)))
    book = Ledger(1)
    book.pause(day("2026-03-02", 8), "2026-03-09", "2026-03-15", terms)
    book.hand_in(101, day("2026-03-06"))
    # Fourteen days from Friday the 6th: two before it, twelve after it, to Friday the 27th.
    assert turns(book, terms, date(2026, 3, 6))[101][-1].due_on == date(2026, 3, 27)


def test_a_late_answer_moves_the_later_date_by_its_late_days_and_by_the_pause():
    terms = history(publisher_late_moves=True)
    book = Ledger(1)
    book.hand_in(101, day("2026-03-04"))
    # Due on Monday the 9th; answered on Thursday the 12th, three late. Then a pause from the 16th to the 20th.
    book.letter(day("2026-03-12"), book.approve(101))
    before = line_of(book, date(2026, 3, 12), 102, terms).due.current_on
    book.pause(day("2026-03-13"), "2026-03-16", "2026-03-20", terms)
    after = line_of(book, date(2026, 3, 13), 102, terms).due.current_on
    assert WEEK.count(before, after) == 5


@pytest.mark.parametrize(
    ("first", "last", "code"),
    [
        ("2026-04-10", "2026-04-09", "pause-backwards"),
        ("2026-04-10", "2027-04-11", "pause-too-long"),
        ("2026-02-27", "2026-03-06", "pause-before-work"),
        ("2026-05-29", "2026-06-01", "pause-overlaps"),
        ("2026-05-04", "2026-07-04", "pause-overlaps"),
        ("2026-04-11", "2026-04-12", "pause-without-days"),
    ],
)
def test_what_nobody_can_mean_is_refused(first, last, code):
    other = Pause(
        number=1, first=date(2026, 6, 1), last=date(2026, 6, 5), reason="", by="", proposed_by="", entries=(2,)
    )
    with pytest.raises(Refused) as found:
        check_pause(
            date.fromisoformat(first), date.fromisoformat(last), [other], start_on=date(2026, 3, 2), calendars=[WEEK]
        )
    assert found.value.code == code


def test_a_year_is_not_too_long_and_a_day_beside_another_no_overlap():
    other = Pause(
        number=1, first=date(2026, 6, 1), last=date(2026, 6, 5), reason="", by="", proposed_by="", entries=(2,)
    )
    check_pause(date(2026, 6, 6), date(2027, 6, 5), [other], start_on=date(2026, 3, 2), calendars=[WEEK])


@pytest.mark.parametrize(
    ("first", "last", "code"),
    [
        ("2026-06-02", "2026-06-05", "pause-begun"),
        ("2026-06-01", None, "pause-begun"),
        ("2026-06-01", "2026-06-02", "pause-ends-past"),
        ("2026-06-01", "2026-06-05", "pause-same"),
    ],
)
def test_what_was_nobodys_does_not_become_somebodys(first, last, code):
    pause = Pause(
        number=1, first=date(2026, 6, 1), last=date(2026, 6, 5), reason="", by="", proposed_by="", entries=(2,)
    )
    with pytest.raises(Refused) as found:
        check_change(pause, date.fromisoformat(first), last and date.fromisoformat(last), date(2026, 6, 3))
    assert found.value.code == code
    check_change(pause, pause.first, date(2026, 6, 3), date(2026, 6, 3))
    with pytest.raises(Refused) as found:  # under a day that is not its own, the other side would read another
        check_change(pause, date(2026, 6, 20), None, date(2026, 5, 20))
    assert found.value.code == "pause-gone"
    check_change(pause, pause.first, None, date(2026, 5, 20))
    with pytest.raises(Refused) as found:
        check_change(pause, pause.first, date(2026, 6, 30), date(2026, 6, 6))
    assert found.value.code == "pause-over"


def test_a_date_on_a_weekend_stays_where_no_working_day_rested_before_it():
    paused = working_calendar(paused=_days("2026-03-09", "2026-03-13"))
    assert moved_by(date(2026, 3, 7), WEEK, paused, date(2026, 3, 9)) == date(2026, 3, 7)
    assert moved_by(date(2026, 3, 14), WEEK, paused, date(2026, 3, 9)) == date(2026, 3, 20)
    assert datetime(2026, 3, 7, tzinfo=UTC).date() < date(2026, 3, 9)


def test_a_pause_uses_up_no_move_that_both_sides_may_agree_on():
    terms = history(moves_at_most=1)
    book = Ledger(1)
    book.pause(day("2026-03-03"), "2026-03-05", "2026-03-06")
    moves = [entry.data for entry in book.entries if entry.deed == Deed.MOVE_DUE_DATE]
    check_moves(moves, "hand-in", terms.versions[0])
    words = rule_lines(terms.versions[0])["moves of a date"]
    assert "by agreement at most 1 time" in words and "a late answer or a pause moves does not count" in words


def test_the_days_of_the_printer_are_those_of_its_own_calendar():
    """The printer in Germany rests on Friday 1 May 2026; the illustrator's place keeps no holiday."""
    proof = (StageDays("sketch", 5, 3), StageDays("proof", 2, 1))
    plain, german = (plain_terms(stages=proof, groups=(), printer_place=place) for place in ("", "DE"))
    ends = [add_working_days(date(2026, 4, 30), 2, one.maker_calendar("proof")) for one in (plain, german)]
    assert ends == [date(2026, 5, 4), date(2026, 5, 5)]
    assert german.maker_calendar("sketch") == german.calendar_of(Side.ILLUSTRATOR)
    # Handed in on Wednesday 29 April: three days to answer, two of the printer, one to answer.
    found = []
    for terms in (plain, german):
        book = Ledger(1, stages=("sketch", "proof"))
        book.hand_in(101, day("2026-04-29"))
        today = date(2026, 4, 30)
        running = turns(book, history(terms), today)
        found += cannot_meet(tell(book.entries, book.spreads), terms, running, date(2026, 5, 1), today)
    assert [told.earliest_on for told in found] == [date(2026, 5, 7), date(2026, 5, 7)]


def test_what_the_printer_cannot_make_on_its_holiday_ends_a_day_later():
    proof = (StageDays("sketch", 5, 1), StageDays("proof", 2, 1))
    found = []
    for place in ("", "DE"):
        terms = plain_terms(stages=proof, groups=(), printer_place=place)
        book = Ledger(1, stages=("sketch", "proof"))
        book.hand_in(101, day("2026-04-29"))
        today = date(2026, 4, 29)
        running = turns(book, history(terms), today)
        found += cannot_meet(tell(book.entries, book.spreads), terms, running, date(2026, 4, 30), today)
    # Answered on Thursday the 30th; two days of the printer end on Monday the 4th, or on the 5th; then one to answer.
    assert [told.earliest_on for told in found] == [date(2026, 5, 5), date(2026, 5, 6)]
