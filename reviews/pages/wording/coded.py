"""How a code with its values becomes a sentence; what was stored in words before is said as it stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext

Values = Mapping[str, Any]
# A sentence with places for its values, or what makes one of them.
Sentence = str | Promise | Callable[[Values], str]

# The code of a sentence that was stored before there were codes, and that nobody could turn into one.
AS_TOLD = "as-told"


def said(sentences: Mapping[str, Sentence], code: str, values: Values) -> str:
    """Give the sentence of a code; a code or values that this program has no words for are named, never an error."""
    if code == AS_TOLD:
        return str(values.get("words", ""))
    sentence = sentences.get(code)
    try:
        if callable(sentence) and not isinstance(sentence, Promise):
            return sentence(values)
        if sentence is not None:
            return str(sentence).format(**values)
    except (KeyError, TypeError, ValueError):
        pass  # a row of another version, whose values are others
    return gettext("This Roughproof has no words for “{code}”; a newer one wrote it.").format(code=code)


def split(coded: Mapping[str, Any]) -> tuple[str, dict[str, Any]]:
    """Take what is stored as one object, ``{"code": …, "n": 3}``, apart into its code and its values."""
    return str(coded["code"]), {key: value for key, value in coded.items() if key != "code"}
