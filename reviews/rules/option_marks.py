"""What several people's quick marks on one option come to: where they agree, and where they do not."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from reviews.rules.states import Verdict


class Leaning(StrEnum):
    """How the marks on an option lie; the order is that of a board grouped by them."""

    CLOSEST = "closest"
    DIVIDED = "divided"
    MAYBE = "maybe"
    NOT_THIS = "not-this"
    UNMARKED = "unmarked"


def leaning(verdicts: Iterable[str]) -> Leaning:
    """Say how marks lie: divided where one is for an option and another against it, else as far as they go."""
    said = set(verdicts)
    if {Verdict.THIS, Verdict.NOT_THIS} <= said:
        return Leaning.DIVIDED
    if Verdict.THIS in said:
        return Leaning.CLOSEST
    if Verdict.NOT_THIS in said:
        return Leaning.NOT_THIS
    return Leaning.MAYBE if said else Leaning.UNMARKED
