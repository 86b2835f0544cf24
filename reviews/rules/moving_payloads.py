"""The shapes of what the ledger keeps of pieces that changed places, and of those dropped, added or brought back."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from reviews.rules.payload_shapes import LaidOut, ProposedBy, SetByTerms


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


class DroppedSpread(TypedDict):
    """A spread that was dropped, as it lay, and its passages; what the draft letter answered of it is taken out."""

    spread: int
    label: str
    pages: list[int | None]
    passages: list[int]


class BackSpread(TypedDict):
    """A spread that was brought back: what it was called, is called now, and its passages of before."""

    spread: int
    was: str
    label: str
    pages: list[int | None]
    position: int
    passages: list[int]


class AddedSpread(TypedDict):
    """What a spread that came into being is called; its passages are told as those of a layout."""

    spread: int
    label: str


class InstalmentThen(TypedDict):
    """An instalment that waits for more or fewer spreads now, or that falls due by the change."""

    name: str
    needed_before: int
    needed: int
    falls_due: bool


class RepageData(LaidOut, SetByTerms):
    """Spreads were dropped, added or brought back, or the book has another number of pages (``n_pages``: was, is).

    ``answer_dues`` are the answer dates of hand-ins that lie with the publisher again, by passage. ``instalments`` are
    those which it touches, ``stopped`` what would be owed if the book stopped, before, after, and the currency, where
    that differs; no amount of the terms changes. ``proposed`` is there where both sides agreed; else the publisher did
    it before anything was handed in. What terms fixed, or fixed no more, while a spread was away is set on its return.
    """

    n_pages: list[int]
    dropped: list[DroppedSpread]
    back: list[BackSpread]
    added: list[AddedSpread]
    placed: list[MovedSpread]
    answer_dues: dict[str, str]
    instalments: list[InstalmentThen]
    stopped: list[str]
    reason: str
    proposed: NotRequired[ProposedBy]
