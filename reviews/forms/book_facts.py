"""A book's title, publisher and last day, asked again."""

from __future__ import annotations

from typing import Any

from django import forms

from reviews.actions.book_facts import LARGEST_MM, SMALLEST_MM


def _trim(label: str) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        min_value=SMALLEST_MM,
        max_value=LARGEST_MM,
        decimal_places=2,
        required=False,
        show_hidden_initial=True,
        help_text="After trimming. It can change until a sketch is approved.",
    )


class BookFactsForm(forms.Form):
    """What was seen goes along hidden, so that `changed_data` names what the person changed and nothing else.

    ``day_alone`` asks for the last day only.
    """

    title = forms.CharField(label="Title", max_length=200, show_hidden_initial=True)
    publisher = forms.CharField(label="Publisher", max_length=120, required=False, show_hidden_initial=True)
    final_on = forms.DateField(
        label="Everything approved by",
        required=False,
        show_hidden_initial=True,
        help_text="The contract’s date, or the printer’s for files. The forecast and the statement look at it.",
        error_messages={"invalid": "That is no date. Choose one from the calendar, or write it as 2027-03-01."},
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )
    trim_width_mm = _trim("Trim width in mm")
    trim_height_mm = _trim("Trim height in mm")
    reason = forms.CharField(
        label="Why the date or the page size changes",
        required=False,
        max_length=300,
        help_text="Needed only where one of them changes. Both sides read it.",
    )

    def __init__(self, *values: Any, day_alone: bool = False, may_trim: bool = True, **named: Any) -> None:
        super().__init__(*values, **named)
        if day_alone:
            del self.fields["title"], self.fields["publisher"]
        if day_alone or not may_trim:
            del self.fields["trim_width_mm"], self.fields["trim_height_mm"]
