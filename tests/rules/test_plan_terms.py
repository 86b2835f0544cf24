from datetime import date

import pytest

from reviews.rules.contract.plan_terms import part_of, terms_of_plans
from reviews.rules.contract.plans import READY_PLANS
from reviews.rules.contract.terms import COVER, EVERY_SPREAD, check_terms


@pytest.mark.parametrize("inside", sorted(READY_PLANS))
def test_every_ready_plan_implies_terms_that_can_be_kept(inside):
    plans = {EVERY_SPREAD: READY_PLANS[inside].stages, COVER: READY_PLANS["cover"].stages}
    terms = terms_of_plans(plans, from_on=date(2026, 3, 2), places=["GB-ENG"], zone="Europe/London")
    check_terms(terms)
    for part, plan in plans.items():
        for stage in plan:
            line = terms.days_for(part, stage.kind)
            assert (line.hand_in_days, line.answer_days) == (stage.hand_in_days, stage.answer_days)
            assert terms.group_for(part, stage.kind).rounds == stage.rounds


def test_stages_of_a_group_share_its_rounds():
    terms = terms_of_plans({EVERY_SPREAD: READY_PLANS["every-stage"].stages}, from_on=date(2026, 3, 2))
    group = terms.group_for(EVERY_SPREAD, "line")
    assert group.stages == ("line", "ink")
    assert group.rounds == 1
    assert terms.fee is None


def test_the_cover_has_its_own_part():
    assert part_of(is_cover=True) == COVER
    assert part_of(is_cover=False) == EVERY_SPREAD
