"""The shapes of what the ledger keeps of people who are asked to read."""

from __future__ import annotations

from typing import TypedDict


class AskToReadData(TypedDict):
    """Somebody was asked about spreads: their ids, what they are called, and what is asked."""

    name: str
    role: str
    seat: int
    spreads: list[int]
    labels: list[str]
    words: str


class StopAskingData(TypedDict):
    """An ask about one spread ended."""

    name: str
    role: str
    seat: int
    spread: int
    label: str
