"""A measured proof, its aims and its limits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from reviews.actions.measured_proofs import ProofAsked, SentText
from reviews.models import Passage, ReferenceSet
from reviews.pages.wording import press
from reviews.press.proof_check import PROOF_LIMITS, Criterion

MOST_KB = 450  # of each of the two files: what a form may hold in all is a megabyte


class ProofForm(forms.Form):
    measured = forms.FileField(
        label="The measurement",
        help_text=f"A CGATS text file from the measuring device, of at most {MOST_KB} kB.",
        error_messages={"required": "Choose the text file of the measurement."},
    )
    reference_id = forms.TypedChoiceField(label="Held against", required=False, coerce=int, empty_value=None)
    reference = forms.FileField(
        label="Or load aims",
        required=False,
        help_text="The characterisation data the proof was made for, as CGATS text. They are kept for the next proof.",
    )
    passage_id = forms.TypedChoiceField(label="Proof of", required=False, coerce=int, empty_value=None)
    limits = forms.ChoiceField(
        label="Limits", choices=[(code, press.source(one.source)) for code, one in PROOF_LIMITS.items()]
    )

    def __init__(self, *values: Any, sets: Sequence[ReferenceSet], proofs: Sequence[Passage], **named: Any) -> None:
        super().__init__(*values, **named)
        self._offer("reference_id", "the file loaded beside this", [(row.pk, row.name) for row in sets])
        self._offer("passage_id", "the book as a whole", [(row.pk, row.where) for row in proofs])
        for criterion in Criterion:
            starts = {code: one.limits[criterion] for code, one in PROOF_LIMITS.items() if criterion in one.limits}
            told = ", ".join(f"{limit:g} ({press.source(PROOF_LIMITS[code].source)})" for code, limit in starts.items())
            self.fields[f"limit_{criterion.value}"] = forms.FloatField(
                label=str(press.CRITERIA[criterion]),
                required=False,
                min_value=0.01,
                max_value=50,
                help_text=f"Starts at {told}.",
            )

    def _offer(self, name: str, none: str, rows: list[tuple[int, str]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", none), *rows]

    @property
    def limit_fields(self) -> list[forms.BoundField]:
        return [self[f"limit_{criterion.value}"] for criterion in Criterion]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for name in ("measured", "reference"):
            file = data.get(name)
            if file is not None and file.size > MOST_KB * 1024:
                self.add_error(name, f"This file has more than {MOST_KB} kB: it is no table of patches.")
        if not data.get("reference") and not data.get("reference_id"):
            self.add_error("reference", "Choose the aims the proof was made for, or load their file.")
        return data

    def as_asked(self) -> ProofAsked:
        """Give the checked answers in the form the action takes."""
        data = self.cleaned_data
        own = {criterion: data[f"limit_{criterion.value}"] for criterion in Criterion}
        return ProofAsked(
            measured=SentText(data["measured"].name, data["measured"].read()),
            reference_id=data["reference_id"],
            reference=SentText(data["reference"].name, data["reference"].read()) if data["reference"] else None,
            limits=data["limits"],
            own_limits={criterion: limit for criterion, limit in own.items() if limit is not None},
            passage_id=data["passage_id"],
        )
