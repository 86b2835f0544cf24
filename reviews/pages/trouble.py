"""What hinders the work behind a picture or a comparison, said in a sentence for scripts and templates."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypedDict

from reviews.pages.wording.jobs import error_sentence
from reviews.queries.trouble import Trouble


class ShownTrouble(TypedDict):
    """Why something has not come yet, as it is kept and in words, and whether it was given up."""

    error: Mapping[str, Any]
    sentence: str
    is_given_up: bool


def shown_trouble(trouble: Trouble | None) -> ShownTrouble | None:
    """Say what hinders some work; None where nothing does."""
    if trouble is None:
        return None
    return {"error": trouble.error, "sentence": error_sentence(trouble.error), "is_given_up": trouble.is_given_up}
