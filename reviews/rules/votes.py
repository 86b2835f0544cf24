"""A cover meeting's vote: what a ballot says, how it is sealed until the vote is closed, and what all of them come to.

Whoever votes places what they would go along with, best first, equals level; what is not placed is below all that is.
So one ballot is an order and an approval at once, and nothing need be asked twice.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reviews.rules.ballot import Ballot, Option, Result, check_ballot, count, shuffled
from reviews.rules.states import Role

#: Who may be named as the one who decides.
DECIDERS = frozenset({Role.ART_DIRECTOR, Role.EDITOR})
#: A choice needs something to choose from.
FEWEST_OPTIONS = 2
MOST_WORDS = 300
MOST_REASONS = 2000

Ranks = Sequence[Sequence[int]]


def ranks_of(places: Mapping[int, int]) -> list[list[int]]:
    """Put options in groups by the place each was given, best first; equals stand in the order of their numbers."""
    groups: dict[int, list[int]] = {}
    for option, place in sorted(places.items()):
        groups.setdefault(place, []).append(option)
    return [groups[place] for place in sorted(groups)]


def places_of(ranks: Ranks) -> dict[int, int]:
    """Say of each option that a ballot places which place it has there, from 1."""
    return {option: place for place, group in enumerate(ranks, 1) for option in group}


def as_ballot(ranks: Ranks, options: Sequence[int]) -> Ballot:
    """Read what is kept of a ballot; raises Refused where it names an option twice, an unknown one, or none."""
    ballot = Ballot(tuple(tuple(group) for group in ranks))
    check_ballot(ballot, options)
    return ballot


def seal_of(ranks: Ranks, salt: str) -> str:
    """Give the fingerprint under which a ballot stands in the ledger before the vote is closed.

    Of so few possible orders each could be tried out: ``salt`` is kept with the ballot and shown to nobody.
    """
    written = json.dumps([list(group) for group in ranks], separators=(",", ":"))
    return hashlib.sha256(f"{salt}:{written}".encode()).hexdigest()


def seen_by(options: Sequence[int], seed: str, person: int) -> list[int]:
    """Give the order in which a person is shown the options: their own, and the same each time."""
    return [int(str(option)) for option in shuffled(options, f"{seed}:{person}")]


def count_votes(options: Sequence[int], ballots: Sequence[Ranks]) -> Result:
    """Count ballots; what a ballot places, it approves of."""
    return count(options, [as_ballot(ranks, options) for ranks in ballots], approved_above=len(options))


@dataclass(frozen=True)
class OtherCounts:
    """Which options lead by points and by approvals, where those are others than the winners."""

    by_points: tuple[Option, ...] = ()
    by_approvals: tuple[Option, ...] = ()


def other_leaders(result: Result) -> OtherCounts:
    """Name the leaders of the two counts beside the result, each where it says something else."""
    points = _leaders(result.borda)
    approvals = _leaders(result.approvals)
    winners = set(result.winners)
    return OtherCounts(
        by_points=points if set(points) != winners else (),
        by_approvals=approvals if set(approvals) != winners else (),
    )


def _leaders(counted: Mapping[Option, float] | Mapping[Option, int]) -> tuple[Option, ...]:
    most = max(counted.values())
    return tuple(option for option, n in counted.items() if n == most)
