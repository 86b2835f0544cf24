from datetime import UTC, date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.pages.wording.terms import received_words
from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.days import (
    DayRule,
    add_working_days,
    day_zero,
    last_day,
    late_receipt,
    on_or_after,
    on_or_before,
    working_days_between,
)

dates = st.dates(date(2015, 1, 1), date(2040, 12, 31))
counts = st.integers(1, 300)
places = st.lists(st.sampled_from(["GB-ENG", "US", "JP"]), max_size=2, unique=True)


@given(dates, counts, places)
def test_adding_and_counting_agree(day, n, codes):
    calendar = working_calendar(codes)
    assert working_days_between(day, add_working_days(day, n, calendar), calendar) == n
    assert working_days_between(add_working_days(day, -n, calendar), day, calendar) in (n, n - 1)


@given(dates, counts, places)
def test_no_due_date_lies_on_a_closed_day(day, n, codes):
    calendar = working_calendar(codes)
    for due in (
        add_working_days(day, n, calendar),
        add_working_days(day, -n, calendar),
        on_or_before(day, calendar),
    ):
        assert calendar.is_working(due)


@given(dates, counts, places)
def test_going_on_and_back_returns_to_a_working_day(day, n, codes):
    calendar = working_calendar(codes)
    start = on_or_after(day, calendar)
    assert add_working_days(add_working_days(start, n, calendar), -n, calendar) == start


@given(dates, dates, places)
def test_counting_backwards_is_the_negative(a, b, codes):
    calendar = working_calendar(codes)
    assert working_days_between(a, b, calendar) == -working_days_between(b, a, calendar)


@pytest.mark.parametrize(
    ("at", "words"),
    [
        (datetime(2026, 11, 25, 17, 59, tzinfo=UTC), ""),
        (datetime(2026, 11, 25, 18, 0, tzinfo=UTC), "after 18:00, counts as 26 Nov 2026"),
        (datetime(2026, 11, 27, 19, 30, tzinfo=UTC), "after 18:00, counts as 30 Nov 2026"),
        (datetime(2026, 11, 28, 9, 0, tzinfo=UTC), "on a closed day, counts as 30 Nov 2026"),
    ],
)
def test_what_counts_later_than_it_came_says_why(at, words):
    rule, calendar = DayRule("UTC", time(18), "next-working-day"), working_calendar()
    on = day_zero(at, rule, calendar)
    assert received_words(late_receipt(at, on, on, rule)) == words


def test_what_came_before_its_days_began_counts_from_the_first_of_them():
    at, starts_on = datetime(2026, 11, 17, 9, tzinfo=UTC), date(2026, 12, 1)
    words = "before its days began to run, counts as 1 Dec 2026"
    late = late_receipt(at, at.date(), starts_on, DayRule("UTC", time(18), "next-working-day"))
    assert received_words(late) == words


def test_zero_days_is_today_or_the_next_working_day():
    plain = working_calendar()
    assert add_working_days(date(2026, 11, 27), 0, plain) == date(2026, 11, 27)
    assert add_working_days(date(2026, 11, 28), 0, plain) == date(2026, 11, 30)


@pytest.mark.parametrize(
    ("at", "rule", "expected"),
    [
        # A hand-in at 23:30 in London is still that day there, though it is already the next day in UTC.
        (datetime(2026, 6, 2, 22, 30, tzinfo=UTC), DayRule(zone="Europe/London"), date(2026, 6, 2)),
        (datetime(2026, 6, 2, 23, 30, tzinfo=UTC), DayRule(zone="Europe/London"), date(2026, 6, 3)),
        (datetime(2026, 6, 2, 23, 30, tzinfo=UTC), DayRule(zone="America/New_York"), date(2026, 6, 2)),
        (
            datetime(2026, 6, 5, 15, 59, tzinfo=UTC),
            DayRule("Europe/London", time(17), "next-working-day"),
            date(2026, 6, 5),
        ),
        (
            datetime(2026, 6, 5, 16, 0, tzinfo=UTC),
            DayRule("Europe/London", time(17), "next-working-day"),
            date(2026, 6, 8),
        ),
        (
            datetime(2026, 6, 5, 16, 0, tzinfo=UTC),
            DayRule("Europe/London", time(17), "as-is"),
            date(2026, 6, 5),
        ),
        (datetime(2026, 6, 6, 9, 0, tzinfo=UTC), DayRule("Europe/London", None, "as-is"), date(2026, 6, 6)),
        (
            datetime(2026, 6, 6, 9, 0, tzinfo=UTC),
            DayRule("Europe/London", None, "next-working-day"),
            date(2026, 6, 8),
        ),
    ],
)
def test_day_zero(at, rule, expected):
    assert day_zero(at, rule, working_calendar(["GB-ENG"])) == expected


def test_counting_the_day_of_receipt_ends_one_day_sooner():
    plain = working_calendar()
    monday = date(2026, 6, 1)
    assert last_day(monday, 5, DayRule(), plain) == date(2026, 6, 8)
    assert last_day(monday, 5, DayRule(counts_receipt=True), plain) == date(2026, 6, 5)
    # A closed day of receipt cannot be day 1 of a count of working days.
    assert last_day(date(2026, 5, 31), 5, DayRule(counts_receipt=True), plain) == date(2026, 6, 5)


def test_a_day_ends_at_midnight_where_the_terms_say():
    assert DayRule(zone="America/New_York").end_of(date(2026, 6, 1)) == datetime(2026, 6, 2, 4, tzinfo=UTC)


def test_a_calendar_without_working_days_is_an_error_not_a_hang():
    never = working_calendar(rest=range(7))
    with pytest.raises(ValueError, match="no working day within a year"):
        add_working_days(date(2026, 1, 1), 1, never)
