"""What one letter asked for beyond the rounds in the fee."""

from __future__ import annotations

from reviews.models import LedgerEntry
from reviews.queries.reckoning import reckon_one
from reviews.rules.rounds_under_terms import STANDING_WORDS, Standing

_BEYOND = frozenset({Standing.OVER, Standing.OUTSIDE})


def beyond_the_fee(entry: LedgerEntry) -> list[str]:
    """Tell each passage of a sent letter that went beyond the fee, by the terms of the day it went (3 or 4 queries)."""
    reckoned = reckon_one(entry.book, entry.at)
    where = {answer["passage"]: answer["where"] for answer in entry.data["answers"]}
    return [
        f"{where[one.passage]}: {STANDING_WORDS[one.standing]}"
        for one in reckoned.drawn.rounds.rounds
        if one.seq == entry.seq and one.standing in _BEYOND and one.passage in where
    ]
