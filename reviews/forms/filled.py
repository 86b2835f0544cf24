"""Read a posted form, or refuse it in a sentence."""

from __future__ import annotations

from typing import Any

from django import forms

from reviews.rules.states import Refused


def filled_in(form: forms.Form, otherwise: str) -> dict[str, Any]:
    """Return what was filled in; raise the refusal ``otherwise`` where the form cannot be read."""
    if not form.is_valid():
        raise Refused(otherwise)
    return form.cleaned_data
