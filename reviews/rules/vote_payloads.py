"""The shapes of the payloads of a vote among options."""

from __future__ import annotations

from typing import TypedDict

from reviews.rules.payload_shapes import Where


class VoteOptionData(TypedDict):
    """One option that was put to the vote: its number in the hand-in and its file by content."""

    picture: int
    option: int
    sha256: str


class OpenVoteData(Where):
    """A vote was opened: among which options, until which day if one was named, and who decides afterwards.

    ``asked`` are the seats that could vote then: they are written to.
    """

    vote: int
    hand_in: int
    options: list[VoteOptionData]
    words: str
    until: str | None
    decider: str
    asked: list[int]


class CastBallotData(Where):
    """Somebody gave a ballot, or gave it anew. What it says stands nowhere before the vote is closed."""

    vote: int
    again: bool


class BallotData(TypedDict):
    """One ballot, opened: whose, and the numbers of the options it places, best first."""

    name: str
    ranks: list[list[int]]


class CloseVoteData(Where):
    """A vote was closed: every ballot, and the options in the order they come to, equals together.

    ``broken`` names whose ballot was changed outside the portal, and is not counted.
    """

    vote: int
    ballots: list[BallotData]
    order: list[list[int]]
    broken: list[str]


class DecideVoteData(Where):
    """Whoever decides chose among the options, and said why; ``winners`` is what the vote put first."""

    vote: int
    picture: int
    option: int
    sha256: str
    winners: list[int]
    reasons: str
