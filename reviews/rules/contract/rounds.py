"""Rounds as the contract counts them: used, left, over and outside the fee, with the letters that made them.

`rounds` counts under one allowance; this module judges each letter by the terms that held on its day, so
that an amendment never changes what an earlier letter cost.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.rounds_implied import is_counted
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.timeline import AboutPassage, Event, PassageStory, Story
from reviews.rules.states import Answer, Deed


class RoundStanding(StrEnum):
    """How the terms take one letter that asks for changes on one passage."""

    IN_FEE = "in-fee"
    OVER = "beyond-the-fee"
    OUTSIDE = "outside-the-fee"
    NOT_COUNTED = "not-counted"


@dataclass(frozen=True)
class Round:
    """One letter that asks for changes on one passage; `seq` is its ledger line, `version` the terms."""

    seq: int
    on: date
    passage: int
    standing: RoundStanding
    version: int


@dataclass(frozen=True, kw_only=True)
class RoundSum:
    """Rounds of a passage, a group or a book; `included` is what the fee holds now for the group.

    `in_fee` counts what the group has used up, so that `left` is right for every stage that shares it.
    `entries` are the letters counted, `included_by` the entries that set what the fee holds.
    """

    in_fee: int
    over: int
    outside: int
    not_counted: int
    included: int
    left: int
    entries: tuple[int, ...]
    included_by: tuple[int, ...] = ()

    @property
    def made_by(self) -> tuple[int, ...]:
        """Name the letters and the terms behind the figures together."""
        return tuple(sorted({*self.entries, *self.included_by}))

    @property
    def used(self) -> int:
        """Count the rounds the terms count: those in the fee and those beyond it."""
        return self.in_fee + self.over


@dataclass(frozen=True)
class GroupKey:
    """One spread's share in one group of stages."""

    spread: int
    group: str


@dataclass(frozen=True)
class RoundCounts:
    """Every round of a book, and the sums. A passage's `left` is its group's."""

    rounds: tuple[Round, ...]
    passages: dict[int, RoundSum]
    groups: dict[GroupKey, RoundSum]
    stages: dict[str, RoundSum]
    book: RoundSum


def count_under(story: Story, receipts: Receipts, as_of: date) -> RoundCounts:
    """Judge every letter by the terms of its day, and add up.

    A letter that asks for changes on a passage is one round on it. What exceeds the fee was beyond it on the
    day the letter went; more rounds agreed later are new rounds, they do not pay for old ones.
    """
    rounds = _judge(story, receipts)
    now = receipts.terms.on(as_of)
    behind = story.behind(now.version)
    groups: dict[GroupKey, list[PassageStory]] = {}
    for passage_story in story.passages.values():
        key = GroupKey(passage_story.spread.spread, now.group_for(passage_story.spread.part, passage_story.stage).name)
        groups.setdefault(key, []).append(passage_story)
    by_passage: dict[int, list[Round]] = {passage: [] for passage in story.passages}
    for one in rounds:
        by_passage[one.passage].append(one)
    group_sums, passages = _sum_groups(groups, by_passage, now, behind)
    stages = {
        stage: _total(
            [
                by_passage[passage_story.passage]
                for passage_story in story.passages.values()
                if passage_story.stage == stage
            ],
            [
                passages[passage_story.passage]
                for passage_story in story.passages.values()
                if passage_story.stage == stage
            ],
            behind,
        )
        for stage in {passage_story.stage: None for passage_story in story.in_order()}
    }
    return RoundCounts(
        tuple(rounds),
        passages,
        group_sums,
        stages,
        _total(list(by_passage.values()), list(group_sums.values()), behind),
    )


def _sum_groups(
    groups: dict[GroupKey, list[PassageStory]],
    by_passage: dict[int, list[Round]],
    now: Terms,
    behind: tuple[int, ...],
) -> tuple[dict[GroupKey, RoundSum], dict[int, RoundSum]]:
    sums: dict[GroupKey, RoundSum] = {}
    passages: dict[int, RoundSum] = {}
    for key, members in groups.items():
        included = now.group_for(members[0].spread.part, members[0].stage).rounds
        theirs = [one for story in members for one in by_passage[story.passage]]
        left = max(0, included - sum(one.standing == RoundStanding.IN_FEE for one in theirs))
        sums[key] = _sum(theirs, included, left, behind)
        for story in members:
            passages[story.passage] = _sum(by_passage[story.passage], included, left, behind)
    return sums, passages


def _total(rounds: list[list[Round]], parts: list[RoundSum], behind: tuple[int, ...]) -> RoundSum:
    flat = [one for theirs in rounds for one in theirs]
    return _sum(flat, sum(part.included for part in parts), sum(part.left for part in parts), behind)


def _sum(rounds: Iterable[Round], included: int, left: int, behind: tuple[int, ...]) -> RoundSum:
    found = list(rounds)
    n = Counter(one.standing for one in found)
    return RoundSum(
        in_fee=n[RoundStanding.IN_FEE],
        over=n[RoundStanding.OVER],
        outside=n[RoundStanding.OUTSIDE],
        not_counted=n[RoundStanding.NOT_COUNTED],
        included=included,
        left=left,
        entries=tuple(sorted({one.seq for one in found})),
        included_by=behind,
    )


def _judge(story: Story, receipts: Receipts) -> list[Round]:
    asked = sorted(
        (
            (event.seq, passage_story.passage, event)
            for passage_story in story.passages.values()
            for event in _asks(passage_story)
        ),
        key=lambda found: found[:2],
    )
    used: Counter[tuple[int, str]] = Counter()  # rounds of the fee, by spread and stage
    rounds = []
    reopened: set[int] = set()
    for seq, passage, event in asked:
        passage_story = story.passages[passage]
        held, on = receipts.version(event), receipts.written_on(event)
        if event.data.get("reopened"):
            reopened.add(passage)
        standing = standing_of(passage_story, event.data, held, used, was_approved=passage in reopened)
        if standing == RoundStanding.IN_FEE:
            used[passage_story.spread.spread, passage_story.stage] += 1
        rounds.append(Round(seq, on, passage, standing, held.version))
    return rounds


def _asks(story: PassageStory) -> list[Event]:
    return [
        event for event in story.events if event.deed == Deed.SEND_LETTER and event.data.get("answer") == Answer.ASK
    ]


def standing_of(
    story: PassageStory, ask: AboutPassage, held: Terms, used: Counter[tuple[int, str]], *, was_approved: bool
) -> RoundStanding:
    """Say how the terms take one ask, when these rounds of the fee, by spread and stage, have been used before.

    What ``was_approved`` once stays outside the fee: the second change to it is as far beyond what was agreed as
    the first. Only an ask that the terms count as no change at all is neither.
    """
    if not is_counted(ask.get("causes") or (), brief_counts=held.brief_counts):
        return RoundStanding.NOT_COUNTED
    if was_approved:
        return RoundStanding.OUTSIDE
    group = held.group_for(story.spread.part, story.stage)
    before = 0
    for stage in group.stages:
        before += used.get((story.spread.spread, stage), 0)
    return RoundStanding.IN_FEE if before < group.rounds else RoundStanding.OVER
