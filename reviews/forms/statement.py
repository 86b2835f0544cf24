"""Ask for the statement of a day."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms


class DayForm(forms.Form):
    as_of = forms.DateField(label="At the end of", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))

    def __init__(self, *args: Any, latest: date | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if latest is not None:
            self.fields["as_of"].widget.attrs["max"] = latest.isoformat()
