"""A book whose work has not begun: nothing is foreseen before it starts, and nothing is kept back until then."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from reviews.actions.clock import as_if_at
from reviews.queries.reckoning import reckon_one
from reviews.queries.reminders import cannot_meet_dues
from reviews.rules.contract.days import add_working_days
from reviews.rules.contract.terms import StageDays
from reviews.tasks import forecasts
from tests.actions.test_terms import enter
from tests.cast import gather
from tests.makers import SHORT_PLAN, a_book

pytestmark = pytest.mark.django_db

LAID_OUT = datetime(2026, 1, 5, 9, tzinfo=UTC)
STARTS_ON = date(2026, 9, 1)


def to_come(final_on: date | None, hand_in_days: int):
    """Ideas, sketches and so on from Tuesday 1 September; laid out on Monday 5 January."""
    with as_if_at(LAID_OUT):
        cast = gather(a_book(start_on=STARTS_ON, final_on=final_on))
        stages = (StageDays("ideas", 10, 5), StageDays("sketch", hand_in_days, 5), StageDays("colour", 10, 5))
        enter(cast, stages=stages, from_on=date(2026, 1, 5))
    return cast


def test_nothing_is_foreseen_before_the_day_on_which_work_starts():
    cast = to_come(None, 20)
    told = forecasts.told(reckon_one(cast.book, LAID_OUT).question())
    assert told.outlook.today == STARTS_ON
    assert min(spread.p50_on for spread in told.outlook.spreads) > add_working_days(STARTS_ON, 10, cast.book.calendar)
    begun = datetime(2026, 10, 1, 9, tzinfo=UTC)
    assert forecasts.told(reckon_one(cast.book, begun).question()).outlook.today == begun.date()


@pytest.mark.parametrize(("hand_in_days", "is_told"), [(10, False), (200, True)])
def test_what_cannot_be_met_is_told_on_the_day_it_is_laid_out_and_not_first_when_work_starts(hand_in_days, is_told):
    """The plan has its own days by then; two hundred days for a sketch do not end in time."""
    assert sum(stage.hand_in_days + stage.answer_days for stage in SHORT_PLAN) < 60
    cast = to_come(date(2027, 3, 26), hand_in_days)
    for now in (LAID_OUT, datetime(2026, 6, 1, 9, tzinfo=UTC), datetime(2026, 9, 1, 9, tzinfo=UTC)):
        reckoned = reckon_one(cast.book, now)
        told = [one for one in reckoned.statement.cannot_meet if one.label == "Pages 4–5"]
        assert bool(told) is is_told is bool(cannot_meet_dues(reckoned)), now
        assert all(one.since_on == LAID_OUT.date() for one in told), "the same day whenever it is looked at"
