"""Codes of ledger lines, pasted from letters and mails."""

from __future__ import annotations

from django import forms


class CodesForm(forms.Form):
    """What somebody pasted; whole mails may be pasted, the codes are found in them."""

    codes = forms.CharField(
        label="Lines and codes",
        max_length=6000,
        widget=forms.Textarea(attrs={"rows": 5, "spellcheck": "false", "autocomplete": "off"}),
        help_text="As they are in a letter, a mail or a statement: line 12, code ABCD-EFGH-IJKL-MNOP. "
        "Several may be pasted at once.",
        error_messages={"required": "Paste at least one line with its code."},
    )
