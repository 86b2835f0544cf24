"""Which rounds of the fee letters have used: of one spread, or of the whole book where the terms say so."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from reviews.rules.contract.terms import EVERY_SPREAD, RoundGroup, RoundsPer, Terms
from reviews.rules.contract.timeline import SpreadFacts, Story
from reviews.rules.states import PassageState


@dataclass(frozen=True)
class GroupKey:
    """What shares rounds: one spread's stages of a group, or those of every spread (0) of a part of the book."""

    spread: int
    group: str
    part: str = EVERY_SPREAD


def key_of(spread: SpreadFacts, stage: str, held: Terms) -> GroupKey:
    """Name what a spread's stage shares its rounds with under these terms."""
    group = held.group_for(spread.part, stage)
    if group.per == RoundsPer.SPREAD:
        return GroupKey(spread.spread, group.name)
    return GroupKey(0, group.name, group.part)


@dataclass
class UsedRounds:
    """The rounds of the fee used so far, kept so that any version of the terms can count them as its own groups say."""

    _by_spread: Counter[tuple[int, str]] = field(default_factory=Counter)
    _by_part: Counter[tuple[str, str]] = field(default_factory=Counter)
    _letters: dict[tuple[str, str], set[int]] = field(default_factory=dict)

    def add(self, spread: SpreadFacts, stage: str, letter: int) -> None:
        """Note that a letter has used a round of the fee on a spread's stage."""
        self._by_spread[spread.spread, stage] += 1
        self._by_part[spread.part, stage] += 1
        self._letters.setdefault((spread.part, stage), set()).add(letter)

    def of(self, spread: SpreadFacts, stage: str, held: Terms, *, but: int = 0) -> int:
        """Count what is used of the rounds that a spread's stage shares; ``but`` is a letter that is being judged.

        Where one letter is one round, what that letter has used itself leaves room for its next spread.
        """
        group = held.group_for(spread.part, stage)
        if group.per == RoundsPer.SPREAD:
            used = 0
            for each in group.stages:
                used += self._by_spread.get((spread.spread, each), 0)
            return used
        if group.per == RoundsPer.BOOK:
            return sum(n for at, n in self._by_part.items() if _is_in(at, group, held))
        letters = (some for at, some in self._letters.items() if _is_in(at, group, held))
        return len(set().union(*letters) - {but})


def _is_in(at: tuple[str, str], group: RoundGroup, held: Terms) -> bool:
    found = held.group_for(*at)
    return (found.name, found.part) == (group.name, group.part)


def approved_first(story: Story) -> dict[tuple[int, str], int]:
    """Name, by spread and stage, the ledger line that first approved it."""
    found: dict[tuple[int, str], int] = {}
    for told in story.passages.values():
        seq = next((event.seq for event in told.events if event.to == PassageState.APPROVED), None)
        if seq is not None:
            found[told.spread.spread, told.stage] = seq
    return found
