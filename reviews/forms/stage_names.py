"""Name the stages of a book."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from django import forms
from django.utils.functional import Promise

from reviews.pages.wording.stage_names import CARRIES, READY_NAME_WORDS, READY_NAMES
from reviews.rules.stage_names import MOST_LETTERS, name_of
from reviews.rules.states import STAGE_NAMES, StageKind


class StageNamesForm(forms.Form):
    """One name for each stage of the book's plans; those that opened cannot be changed."""

    def __init__(
        self, *args: Any, own: Mapping[str, str], used: Collection[str], opened: Collection[str], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.opened = frozenset(opened)
        for stage in StageKind:
            if stage in used:
                self.fields[stage.value] = forms.CharField(
                    label=STAGE_NAMES[stage],
                    max_length=MOST_LETTERS,
                    required=False,
                    initial=name_of(stage, own),
                    disabled=stage in self.opened,
                    widget=forms.TextInput(attrs={"autocomplete": "off"}),
                )

    @property
    def rows(self) -> list[tuple[forms.BoundField, Promise, bool]]:
        """Give each name with what hangs on its stage, and whether that has opened."""
        return [(self[name], CARRIES[StageKind(name)], name in self.opened) for name in self.fields]

    @property
    def has_closed(self) -> bool:
        """Say whether any stage can still be named."""
        return any(name not in self.opened for name in self.fields)

    @property
    def wanted(self) -> dict[StageKind, str]:
        return {StageKind(name): typed for name, typed in self.cleaned_data.items() if name not in self.opened}


class ReadyNamesForm(forms.Form):
    """Which ready names to begin with."""

    ready = forms.ChoiceField(choices=list(READY_NAME_WORDS.items()))

    @property
    def wanted(self) -> dict[StageKind, str]:
        ready = READY_NAMES.get(self.cleaned_data["ready"], {})
        return {stage: str(ready.get(stage, "")) for stage in StageKind}
