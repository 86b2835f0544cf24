"""Edit a stage plan: one row for each stage the trade knows; a ticked row is in the plan, at the place it names."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Protocol, TypeVar

from django import forms

from reviews.forms.letters import AnyNumbers
from reviews.forms.wrong import WrongField, wrong_fields
from reviews.models import Stage
from reviews.pages.wording.names import GATE_WORDS, stage_words
from reviews.rules.contract.plans import PlannedStage
from reviews.rules.states import Gate, StageKind

# Where a stage comes into a plan anew: common practice, to be changed on the spot.
FRESH: dict[str, Any] = {"gate": Gate.ANSWERS, "hand_in_days": 10, "answer_days": 5, "rounds": 1}


class StageForm(forms.Form):
    used = forms.BooleanField(label="In the plan", required=False)
    place = forms.IntegerField(label="Place", min_value=1, max_value=20, required=False)
    gate = forms.ChoiceField(label="The publisher", choices=[(g.value, words) for g, words in GATE_WORDS.items()])
    hand_in_days = forms.IntegerField(label="Days to hand in", min_value=0, max_value=400)
    answer_days = forms.IntegerField(label="Days to answer", min_value=0, max_value=400)
    rounds = forms.IntegerField(label="Rounds in the fee", min_value=0, max_value=20)
    group = forms.CharField(label="Shares rounds with", required=False, max_length=40)
    two_voices = forms.BooleanField(label="Two sign-offs", required=False)

    is_begun: bool

    def __init__(self, *args: Any, kind: StageKind, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind = kind
        self.name = stage_words(kind)
        for field in self.fields.values():
            # Each row repeats the same fields: read aloud, each must say which stage it is about.
            field.widget.attrs["aria-label"] = f"{self.name}: {str(field.label).lower()}"
        if self.is_bound and not self.data.get(self.add_prefix("used")):
            for name in ("gate", "hand_in_days", "answer_days", "rounds"):
                # What stands in a row that is out of the plan does not matter.
                self.fields[name].required = False

    def as_planned(self) -> PlannedStage:
        data = self.cleaned_data
        return PlannedStage(
            kind=self.kind,
            gate=Gate(data["gate"]),
            hand_in_days=data["hand_in_days"],
            answer_days=data["answer_days"],
            rounds=data["rounds"],
            group=data["group"].strip(),
            two_voices=data["two_voices"],
        )


class PassedOverForm(forms.Form):
    """Which stage is opened, and on which spreads."""

    stage = forms.CharField(max_length=12)
    spread = AnyNumbers(coerce=int, required=False)


class PlanForm:
    """The rows together."""

    def __init__(
        self, data: Mapping[str, Any] | None = None, *, stages: Iterable[Stage] = (), begun: Iterable[str] = ()
    ) -> None:
        there = {stage.kind: (place, stage) for place, stage in enumerate(stages, start=1)}
        self.error = ""
        self.rows = [
            StageForm(data, kind=kind, prefix=kind.value, initial=self._initial(*there.get(kind, (None, None))))
            for kind in StageKind
        ]
        self.mark_begun(begun)

    def mark_begun(self, kinds: Iterable[str]) -> None:
        """Say which stages something was drawn for: they cannot leave the plan."""
        begun = set(kinds)
        for row in self.rows:
            row.is_begun = row.kind in begun

    @staticmethod
    def _initial(place: int | None, stage: Stage | None) -> dict:
        if stage is None:
            return dict(FRESH)
        names = ("gate", "hand_in_days", "answer_days", "rounds", "group", "two_voices")
        return {"used": True, "place": place, **{name: getattr(stage, name) for name in names}}

    def is_valid(self) -> bool:
        # Every row is looked at, so that everything wrong is said at once.
        found = [row.is_valid() for row in self.rows]
        return all(found)

    @property
    def wrong(self) -> list[WrongField]:
        return wrong_fields(self.rows)

    @property
    def planned(self) -> list[PlannedStage]:
        return [row.as_planned() for row in in_their_places(self.rows)]


class _Placed(Protocol):
    """A row of a form: a stage, whether it is in the plan, and at which place."""

    kind: StageKind
    cleaned_data: dict[str, Any]


Row = TypeVar("Row", bound=_Placed)


def in_their_places(rows: Sequence[Row]) -> list[Row]:
    """Sort the rows in the plan by their places; one without a place follows those that the trade has before it."""
    used = [row for row in rows if row.cleaned_data["used"]]
    order = [row.kind for row in rows]
    found = sorted(
        (row for row in used if row.cleaned_data["place"]),
        key=lambda row: (row.cleaned_data["place"], order.index(row.kind)),
    )
    for row in (one for one in used if not one.cleaned_data["place"]):
        before = [n for n, other in enumerate(found) if order.index(other.kind) < order.index(row.kind)]
        found.insert(max(before, default=-1) + 1, row)
    return found
