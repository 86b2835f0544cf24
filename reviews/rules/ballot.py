"""Ranked ballots to a result: the Schulze method, with Borda points and approvals beside it, ties said plainly.

Schulze, "A new monotonic, clone-independent, reversal symmetric, and condorcet-consistent single-winner election
method", Social Choice and Welfare 36, 2011: the strength of a path is its weakest link, by winning votes. The vote
informs; a named person decides.
"""

from __future__ import annotations

import hashlib
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, permutations

from reviews.rules.states import Refused

Option = Hashable
Pair = tuple[Option, Option]


@dataclass(frozen=True)
class Ballot:
    """One person's order: groups of equals, best first. What is left out is ranked below all, as equals."""

    ranks: tuple[tuple[Option, ...], ...]
    weight: int = 1  # how many voters handed in this very ballot, in published tallies


@dataclass(frozen=True, kw_only=True)
class Result:
    """What the ballots come to.

    ``prefer`` holds how many rank the first above the second; ``strength`` the strongest path between two; ``order``
    the options in groups, best first, equals together; ``winners`` is the first group: more than one is a tie.
    """

    options: tuple[Option, ...]
    n_ballots: int
    prefer: Mapping[Pair, int]
    strength: Mapping[Pair, int]
    winners: tuple[Option, ...]
    order: tuple[tuple[Option, ...], ...]
    borda: Mapping[Option, float]
    approvals: Mapping[Option, int]

    @property
    def is_tied(self) -> bool:
        return len(self.winners) > 1

    @property
    def condorcet_winner(self) -> Option | None:
        """Name the option that beats every other one by itself, where there is one."""
        for one in self.options:
            others = [other for other in self.options if other != one]
            if others and all(self.prefer[one, other] > self.prefer[other, one] for other in others):
                return one
        return None


def check_ballot(ballot: Ballot, options: Sequence[Option]) -> None:
    """Refuse a ballot that names an option twice, or one that is not offered, or nothing."""
    named = [option for group in ballot.ranks for option in group]
    if not named:
        raise Refused("ballot-empty")
    if len(set(named)) != len(named):
        raise Refused("ballot-names-twice")
    if not set(named) <= set(options):
        raise Refused("ballot-names-unknown")


def count(options: Sequence[Option], ballots: Sequence[Ballot], *, approved_above: int | None = None) -> Result:
    """Count ballots over options; ``approved_above`` is how many places of a ballot count as approval (None: half)."""
    for ballot in ballots:
        check_ballot(ballot, options)
    prefer = _preferences(options, ballots)
    strength = _strongest_paths(options, prefer)
    order = _in_order(options, strength)
    n_approved = max(1, len(options) // 2) if approved_above is None else approved_above
    return Result(
        options=tuple(options),
        n_ballots=sum(ballot.weight for ballot in ballots),
        prefer=prefer,
        strength=strength,
        winners=tuple(
            one
            for one in options
            if all(strength[one, other] >= strength[other, one] for other in options if other != one)
        ),
        order=order,
        borda=_borda(options, ballots),
        approvals=_approvals(options, ballots, n_approved),
    )


def _places(options: Sequence[Option], ballot: Ballot) -> dict[Option, int]:
    last = len(ballot.ranks)
    return dict.fromkeys(options, last) | {
        option: place for place, group in enumerate(ballot.ranks) for option in group
    }


def _preferences(options: Sequence[Option], ballots: Sequence[Ballot]) -> dict[Pair, int]:
    prefer = dict.fromkeys(permutations(options, 2), 0)
    for ballot in ballots:
        places = _places(options, ballot)
        for one, other in combinations(options, 2):
            if places[one] < places[other]:
                prefer[one, other] += ballot.weight
            elif places[other] < places[one]:
                prefer[other, one] += ballot.weight
    return prefer


def _strongest_paths(options: Sequence[Option], prefer: Mapping[Pair, int]) -> dict[Pair, int]:
    """Widen paths one option at a time (Floyd and Warshall's order); a lost or drawn pair is no link."""
    strength = {(a, b): votes if votes > prefer[b, a] else 0 for (a, b), votes in prefer.items()}
    for through in options:
        for a, b in permutations([option for option in options if option != through], 2):
            by_way = min(strength[a, through], strength[through, b])
            strength[a, b] = max(strength[a, b], by_way)
    return strength


def _in_order(options: Sequence[Option], strength: Mapping[Pair, int]) -> tuple[tuple[Option, ...], ...]:
    """Put options in groups: each is beaten by as many as stand above it; the relation is transitive (Schulze)."""
    beaten_by = {one: sum(strength[o, one] > strength[one, o] for o in options if o != one) for one in options}
    groups: dict[int, list[Option]] = {}
    for one in options:
        groups.setdefault(beaten_by[one], []).append(one)
    return tuple(tuple(groups[n]) for n in sorted(groups))


def _borda(options: Sequence[Option], ballots: Sequence[Ballot]) -> dict[Option, float]:
    """Give each option a point for every one ranked below it, half a point for every equal."""
    points = dict.fromkeys(options, 0.0)
    for ballot in ballots:
        places = _places(options, ballot)
        for one in options:
            below = sum(places[one] < places[other] for other in options)
            equal = sum(places[one] == places[other] for other in options) - 1
            points[one] += ballot.weight * (below + equal / 2)
    return points


def _approvals(options: Sequence[Option], ballots: Sequence[Ballot], n_places: int) -> dict[Option, int]:
    approved = dict.fromkeys(options, 0)
    for ballot in ballots:
        taken = 0
        for group in ballot.ranks:
            if taken >= n_places:
                break
            for option in group:
                approved[option] += ballot.weight
            taken += len(group)
    return approved


def shuffled(options: Sequence[Option], secret: str) -> list[Option]:
    """Give the order in which one person sees the options: always the same for that person, unlike the others'."""
    return sorted(options, key=lambda option: hashlib.sha256(f"{secret}:{option}".encode()).digest())
