"""What is wrong in a long form, field by field, to be said at the top of its page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django import forms


@dataclass(frozen=True)
class WrongField:
    """``at`` is the id of the field on the page."""

    at: str
    label: str
    words: str


def wrong_fields(parts: Iterable[forms.Form]) -> list[WrongField]:
    """List the fields that could not be read, as they stand on the page; a row of a table says which row it is."""
    found = []
    for part in parts:
        for field in part:
            if field.errors and not field.is_hidden:
                label = field.field.widget.attrs.get("aria-label") or str(field.label)
                at = field.id_for_label or f"{field.auto_id}_0"  # of a group of radio buttons, the first
                found.append(WrongField(at, label, " ".join(map(str, field.errors))))
    return found
