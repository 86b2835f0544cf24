"""Day counts against published examples, and against counts made independently with other tools."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.days import (
    add_working_days,
    on_or_after,
    period_end,
)

ENGLAND = working_calendar(["GB-ENG"])
US = working_calendar(["US"])
JOINT = working_calendar(["US", "GB-ENG"])


# Source: Civil Procedure Rules (England and Wales), rule 2.8, the examples in the rule's own text.
def test_cpr_2_8_particulars_within_14_days_of_service():
    # The rule has no roll-over here; 16 October 2025 is a Thursday, so rolling would not show.
    assert period_end(date(2025, 10, 2), 14, ENGLAND) == date(2025, 10, 16)


# Source: 12 CFR 1026.2(a)(6) (Regulation Z) and its commentary; worked case published on a bankers' forum:
# every day but Sundays and holidays on their actual date counts, so the observed Monday is a business day.
def test_regulation_z_rescission_over_a_holiday_weekend():
    reg_z = working_calendar(["US"], observed=False, rest=[6])
    assert add_working_days(date(2021, 7, 2), 3, reg_z) == date(2021, 7, 6)


# Source: US Federal Rules of Civil Procedure, rule 6(a)(1): the trigger day is left out, and a last day
# that is
# a Saturday, Sunday or legal holiday runs to the next day that is none. Dates chosen here.
@pytest.mark.parametrize(
    ("trigger", "n_days", "expected"),
    [
        (date(2026, 6, 3), 30, date(2026, 7, 6)),  # 3 July is the observed holiday, then a weekend
        (date(2026, 6, 1), 14, date(2026, 6, 15)),
        (date(2026, 12, 11), 14, date(2026, 12, 28)),  # Christmas Day is a Friday
    ],
)
def test_frcp_6_a_1(trigger, n_days, expected):
    assert period_end(trigger, n_days, US) == expected


# Source: Regulation (EEC, Euratom) No 1182/71, article 3: the day of the event is left out, and a period whose last day
# is a public holiday, a Sunday or a Saturday ends with the last hour of the following working day. Dates chosen here.
@pytest.mark.parametrize(
    ("event", "n_days", "expected"),
    [
        (date(2026, 6, 1), 10, date(2026, 6, 11)),
        (date(2026, 6, 3), 10, date(2026, 6, 15)),  # the 13th is a Saturday
        (date(2026, 3, 27), 7, date(2026, 4, 7)),  # Good Friday, then the weekend and Easter Monday
    ],
)
def test_eu_1182_71_article_3(event, n_days, expected):
    assert period_end(event, n_days, working_calendar(["DE"])) == expected


# Computed with two other tools (holidays' get_nth_working_day and numpy.busday_offset) before this code
# existed.
@pytest.mark.parametrize(
    ("received", "n", "calendar", "expected"),
    [
        (date(2026, 11, 24), 10, US, date(2026, 12, 9)),
        (date(2026, 4, 1), 5, ENGLAND, date(2026, 4, 10)),
        (date(2026, 4, 1), 5, US, date(2026, 4, 8)),
        (date(2026, 7, 1), 3, US, date(2026, 7, 7)),
        (date(2026, 12, 18), 10, ENGLAND, date(2027, 1, 6)),
        (date(2026, 12, 23), 3, US, date(2026, 12, 29)),
        (date(2026, 12, 23), 3, ENGLAND, date(2026, 12, 30)),
        (date(2026, 12, 23), 3, JOINT, date(2026, 12, 30)),
        (date(2026, 11, 28), 5, US, date(2026, 12, 4)),
        (on_or_after(date(2026, 11, 28), US), 5, US, date(2026, 12, 7)),
    ],
)
def test_computed_cases(received, n, calendar, expected):
    assert add_working_days(received, n, calendar) == expected


@given(st.dates(date(2020, 1, 1), date(2030, 1, 1)), st.integers(1, 250))
def test_agrees_with_numpy_busday_offset(received, n):
    closed = [
        day
        for day in np.arange("2019-01-01", "2032-12-31", dtype="datetime64[D]").astype(object)
        if ENGLAND.kind(day) == "holiday"
    ]
    assert add_working_days(received, n, ENGLAND) == np.busday_offset(
        received, n, roll="backward", holidays=closed
    ).astype(object)
