"""New stages and spreads are dated by the terms of the day on which they come into being."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone

from reviews.actions import layout
from reviews.models import Book, Passage
from reviews.rules.contract.calendars import working_calendar
from reviews.rules.contract.days import add_working_days
from reviews.rules.states import Gate, StageKind
from tests.actions.test_terms import enter
from tests.cast import gather
from tests.makers import SHORT_PLAN, a_book

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    """The house will be shut all of the coming weeks, by an amendment that holds only from a far day on."""
    today = timezone.now().date()
    cast = gather(a_book(start_on=today))
    enter(cast)
    shut = tuple(today + timedelta(days) for days in range(200))
    enter(cast, 1, from_on=today + timedelta(300), shut=shut)
    return cast


def test_a_stage_that_comes_is_dated_by_the_calendar_that_holds_today(cast):
    plan = cast.book.plans.get(covers=False)
    [before] = {stage.kind for stage in plan.stages.all()} & {StageKind.LINE}
    layout.change_plan(plan.pk, [stage for stage in SHORT_PLAN if stage.kind != before], actor=cast.art_director)
    layout.change_plan(plan.pk, SHORT_PLAN, actor=cast.art_director)
    came = Passage.objects.filter(spread__label="Pages 4–5", stage__kind=before).get()
    assert came.planned_on == planned(SHORT_PLAN, before, timezone.now().date())


def test_a_spread_that_is_laid_out_anew_is_dated_by_the_calendar_that_holds_today(cast):
    spread = cast.passage("Pages 4–5", "ideas").spread
    [left, _] = layout.split_spread(spread.pk, actor=cast.art_director)
    first = left.passages.order_by("stage__position").first()
    assert first.planned_on == planned(SHORT_PLAN, first.stage.kind, Book.objects.get().start_on)


def planned(stages, kind, day: date) -> date:
    """Count on through the plan from a day, by a calendar without the closed weeks."""
    for stage in stages:
        day = add_working_days(day, stage.hand_in_days, working_calendar())
        if stage.kind == kind:
            return day
        day = add_working_days(day, stage.answer_days if stage.gate == Gate.ANSWERS else 0, working_calendar())
    raise AssertionError(kind)
