"""Open a stage that was passed over: it came into the plan when a later one was open on the spread already."""

from __future__ import annotations

from collections.abc import Collection

from reviews.actions._deed import deed_on
from reviews.actions._opening import open_passage, opened
from reviews.actions.books import laid_out
from reviews.models import Passage, Seat, StagePlan
from reviews.queries.passed_over import passed_over_of
from reviews.rules.plan_payloads import ChangePlanData
from reviews.rules.states import Deed, Refused


def open_passed_over(plan_id: int, kind: str, *, spreads: Collection[int], actor: Seat) -> list[Passage]:
    """Open a stage of a plan on spreads that passed it over; what is open there stays open.

    Each gets the stage's own days from now. Raises Refused (``not-passed-over``) where no spread is named, or one on
    which it opens by itself, or has opened.
    """
    with deed_on(StagePlan, plan_id, Deed.CHANGE_PLAN, actor) as act:
        plan = StagePlan.objects.get(pk=plan_id, book=act.book)
        over = [row for row in passed_over_of(act.book) if row.stage.plan_id == plan.pk and row.stage.kind == kind]
        meant = [row for row in over if row.spread_id in spreads]
        if not meant or len(meant) < len(set(spreads)):
            raise Refused("not-passed-over")
        for passage in meant:
            open_passage(passage, act.now)
        told = laid_out([]) | opened(meant)
        late = [passage.where for passage in meant]
        act.record(ChangePlanData(plan=plan.name, changed=[], **told, closes=[], gates={}, opened_late=late))
    return meant
