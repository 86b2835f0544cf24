"""Stage plans and the dates that follow from them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.days import working_days_between
from reviews.rules.contract.plans import (
    READY_PLANS,
    PlannedStage,
    check_plan,
    due_dates_backward,
    due_dates_forward,
    latest_start,
)
from reviews.rules.states import Gate, Refused, StageKind

ENGLAND = working_calendar(["GB-ENG"])
SKETCH = PlannedStage(kind=StageKind.SKETCH, gate=Gate.ANSWERS, hand_in_days=10, answer_days=5, rounds=2)
LINE = PlannedStage(kind=StageKind.LINE, gate=Gate.SHOWN, hand_in_days=5, answer_days=9, rounds=0)
COLOUR = PlannedStage(kind=StageKind.COLOUR, gate=Gate.ANSWERS, hand_in_days=20, answer_days=10, rounds=1)


@pytest.mark.parametrize("plan", READY_PLANS.values(), ids=lambda plan: plan.code)
def test_ready_plans_are_plans(plan):
    check_plan(plan.stages)


def test_dates_count_hand_in_and_answer_days_and_skip_the_answer_where_none_is_due():
    # From Monday 2 November 2026: ten days to the sketch, five to its answer, five to the line, none to an answer.
    dates = due_dates_forward(date(2026, 11, 2), (SKETCH, LINE, COLOUR), ENGLAND)
    assert dates == [date(2026, 11, 16), date(2026, 11, 30), date(2026, 12, 30)]


@given(st.dates(date(2026, 1, 5), date(2028, 1, 5)))
def test_planning_back_and_forth_meets(final_on):
    stages = (SKETCH, LINE, COLOUR)
    back = due_dates_backward(final_on, stages, ENGLAND)
    start = latest_start(final_on, stages, ENGLAND)
    forth = due_dates_forward(start, stages, ENGLAND)
    assert forth == back
    assert all(ENGLAND.is_working(day) for day in back)
    assert working_days_between(start, back[0], ENGLAND) == SKETCH.hand_in_days


@pytest.mark.parametrize(
    ("stages", "code"),
    [
        ((), "empty-plan"),
        ((SKETCH, SKETCH), "stage-twice"),
        ((COLOUR, SKETCH), "stage-order"),
        ((replace(SKETCH, hand_in_days=-1),), "bad-days"),
        ((replace(SKETCH, answer_days=401),), "bad-days"),
        ((replace(SKETCH, rounds=21),), "bad-rounds"),
        ((LINE,), "nobody-answers"),
    ],
)
def test_plans_nobody_could_follow_are_refused(stages, code):
    with pytest.raises(Refused) as refused:
        check_plan(stages)
    assert refused.value.code == code
