"""The shape of what the ledger keeps of pieces that changed places."""

from __future__ import annotations

from typing import TypedDict


class MovedSpread(TypedDict):
    """A piece by its number, what it was called and is called now, and its pages and position now."""

    spread: int
    was: str
    label: str
    pages: list[int | None]
    position: int


class MoveSpreadsData(TypedDict):
    """Pieces changed places with their art; ``reason`` is in words."""

    placed: list[MovedSpread]
    reason: str
