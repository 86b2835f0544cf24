"""The stages of a book that is being set up: a ready plan, in an order of one's own or with other stages."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from reviews.forms.plans import FRESH, in_their_places
from reviews.forms.wrong import WrongField, wrong_fields
from reviews.pages.wording.names import stage_words
from reviews.rules.contract.plans import READY_PLANS, PlannedStage
from reviews.rules.states import StageKind


class FirstStageForm(forms.Form):
    used = forms.BooleanField(label="In the plan", required=False)
    place = forms.IntegerField(label="Place", min_value=1, max_value=20, required=False)

    def __init__(self, *args: Any, planned: PlannedStage, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.planned, self.kind = planned, planned.kind
        self.name = stage_words(planned.kind)
        for field in self.fields.values():
            field.widget.attrs["aria-label"] = f"{self.name}: {str(field.label).lower()}"


class FirstStages:
    """One ready plan for one part of the book, stage by stage; as it stands where nothing is posted of it."""

    def __init__(self, data: Mapping[str, Any] | None, *, part: str, code: str) -> None:
        self.code, self.name = code, f"{part}-{code}"
        self.ready = READY_PLANS[code].stages
        own = {stage.kind: (place, stage) for place, stage in enumerate(self.ready, start=1)}
        prefix = {kind: f"{self.name}-{kind.value}" for kind in StageKind}
        # A box that is not ticked is not posted: with every one of them empty, the places say that they were there.
        names = [f"{prefix[kind]}-{field}" for kind in StageKind for field in ("used", "place")]
        self.is_posted = data is not None and any(name in data for name in names)
        self.rows = [
            FirstStageForm(
                data if self.is_posted else None,
                prefix=prefix[kind],
                planned=own[kind][1] if kind in own else PlannedStage(kind=kind, **FRESH),
                initial={"used": kind in own, "place": own[kind][0] if kind in own else None},
            )
            for kind in StageKind
        ]

    @property
    def is_own(self) -> bool:
        """Say whether it is other than the ready plan, or something in it cannot be read."""
        return self.is_posted and (bool(self.wrong) or self.stages != list(self.ready))

    @property
    def wrong(self) -> list[WrongField]:
        return wrong_fields(self.rows) if self.is_posted else []

    @property
    def stages(self) -> list[PlannedStage]:
        """The stages as they were posted, or else as the ready plan has them."""
        # Every row is looked at, so that everything wrong is said at once.
        found = [row.is_valid() for row in self.rows] if self.is_posted else [False]
        if not all(found):
            return list(self.ready)
        return [row.planned for row in in_their_places(self.rows)]
