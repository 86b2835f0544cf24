"""The terms a stage plan implies, for a book whose contract has not been entered yet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from reviews.rules.contract.plans import PlannedStage
from reviews.rules.contract.terms import COVER, EVERY_SPREAD, RoundGroup, StageDays, Terms


def terms_of_plans(
    plans: Mapping[str, Sequence[PlannedStage]], *, from_on: date, places: Sequence[str] = (), zone: str = "UTC"
) -> Terms:
    """Read days, rounds and groups off the plans of a book, keyed by the part of the book each is for.

    No money is in a plan, so none is in these terms.
    """
    stages = [
        StageDays(stage.kind.value, stage.hand_in_days, stage.answer_days, part)
        for part, plan in plans.items()
        for stage in plan
    ]
    groups: dict[tuple[str, str], RoundGroup] = {}
    for part, plan in plans.items():
        for stage in plan:
            name = stage.group or stage.kind.value
            before = groups.get((part, name))
            kinds = (*(before.stages if before else ()), stage.kind.value)
            # The stages of a group share its rounds; where the plan gives them different numbers, the largest holds.
            rounds = max(stage.rounds, before.rounds if before else 0)
            groups[part, name] = RoundGroup(name, kinds, rounds, part)
    return Terms(
        version=1, from_on=from_on, stages=tuple(stages), groups=tuple(groups.values()), places=tuple(places), zone=zone
    )


def part_of(*, is_cover: bool) -> str:
    """Name the part of the terms that speaks of a spread."""
    return COVER if is_cover else EVERY_SPREAD
