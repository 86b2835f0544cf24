"""How often a date was moved later by agreement, where the terms let it be moved only so often."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from reviews.rules.contract.terms import Terms
from reviews.rules.states import Refused


def times_moved(moves: Iterable[Mapping[str, Any]], which: str) -> int:
    """Count how often one of a passage's two dates was moved later; ``moves`` are what the ledger says of each.

    A date that was brought forward, or was none before, was not moved later.
    """
    return sum(
        move.get("which", "hand-in") == which and bool(move.get("from")) and move["to"] > move["from"] for move in moves
    )


def check_moves(moves: Iterable[Mapping[str, Any]], which: str, terms: Terms | None) -> None:
    """Refuse to move a date later once more than the terms allow.

    Raises
    ------
    Refused
        ``moves-used-up``
    """
    most = terms.moves_at_most if terms is not None else None
    if most is not None and times_moved(moves, which) >= most:
        raise Refused("moves-used-up", most=most)
