"""Stages that spreads passed over, as the page of the plans offers to open them."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from reviews.models import Book, Passage, StagePlan
from reviews.queries.passed_over import passed_over_of


@dataclass(frozen=True)
class PassedOverRow:
    """One stage of a plan, with the passages of the spreads that passed it over."""

    plan: int
    kind: str
    name: str
    passages: list[Passage]


def passed_over_rows(book: Book) -> list[PassedOverRow]:
    """Gather by plan and stage what was passed over (1 query)."""
    rows: dict[tuple[int, int], PassedOverRow] = {}
    for passage in passed_over_of(book):
        stage = passage.stage
        blank = PassedOverRow(stage.plan_id, stage.kind, stage.name, [])
        rows.setdefault((stage.plan_id, stage.position), blank).passages.append(passage)
    return [rows[key] for key in sorted(rows)]


def changed_words(plan: StagePlan) -> str:
    """Confirm that the stages of a plan changed, and say where one stays closed (1 query)."""
    said = _("The stages of the {plan} are changed. Dates already set stay.").format(plan=plan.name.lower())
    over = [passage.where for passage in passed_over_of(plan.book) if passage.stage.plan_id == plan.pk]
    if not over:
        return said
    told = _("Passed over, as a later stage is open there: {where}. You can open each below.")
    return f"{said} {told.format(where='; '.join(over))}"
