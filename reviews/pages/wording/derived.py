"""Pictures made from sheets, in words: how far the making has come, and what was done."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext, gettext_lazy, ngettext

from reviews.pages.wording.coded import Sentence, said, split

_STEPS: dict[str, Sentence] = {
    "reading-sheet": gettext_lazy("Reading {name}"),
    "looking-for-shared": gettext_lazy("Looking for what the sheets share"),
    "compared-sheets": gettext_lazy("Compared sheet {one} with sheet {two}"),
    "laying-sheets": gettext_lazy("Laying the sheets over each other"),
    "writing-joined": gettext_lazy("Writing the joined picture"),
    "looking-for-pencil": gettext_lazy("Looking for the pencil"),
    "taking-pencil-out": gettext_lazy("Taking the pencil out"),
    "writing-ink": gettext_lazy("Writing the ink alone"),
}


def step_words(step: Mapping[str, Any]) -> str:
    """Say what is being done, ``{"code": "compared-sheets", "one": 1, "two": 2}``; at first it waits for its turn."""
    return said(_STEPS, *split(step)) if step else gettext("Waiting for its turn")


def made_sentence(recipe: Mapping[str, Any]) -> str:
    """Say in a line what was done, from the recipe of a picture that was just made."""
    if "pencil" in recipe:
        return gettext("The {pencil} under-drawing, {share:.1%} of the picture, was taken out.").format(
            pencil=recipe["pencil"], share=recipe["pencil_share"]
        )
    n = len(recipe["sheets"])
    return ngettext(
        "{n} sheet joined; what they share lies {apart:.2f} px apart.",
        "{n} sheets joined; what they share lies {apart:.2f} px apart.",
        n,
    ).format(n=n, apart=recipe["residual_px"])
