"""A book's title, publisher and last day, asked again."""

from __future__ import annotations

from django import forms


class BookFactsForm(forms.Form):
    title = forms.CharField(label="Title", max_length=200)
    publisher = forms.CharField(label="Publisher", max_length=120, required=False)
    final_on = forms.DateField(
        label="Everything approved by",
        required=False,
        help_text="The contract’s date, or the printer’s for files. The forecast and the statement look at it.",
        error_messages={"invalid": "That is no date. Choose one from the calendar, or write it as 2027-03-01."},
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )
    reason = forms.CharField(
        label="Why the date moves",
        required=False,
        max_length=300,
        help_text="Needed only where the date changes. Both sides read it.",
    )
