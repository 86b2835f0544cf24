"""Rounds as the contract counts them: used, left, over and outside the fee, with the letters that made them.

`rounds` counts under one allowance; this module judges each letter by the terms that held on its day, so
that an amendment never changes what an earlier letter cost.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import NamedTuple

from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.rounds_implied import is_counted
from reviews.rules.contract.rounds_used import GroupKey, UsedRounds, approved_first, key_of
from reviews.rules.contract.terms import RoundsPer, Terms
from reviews.rules.contract.timeline import AboutPassage, Event, PassageStory, Story
from reviews.rules.states import Answer, Cause, Deed, Role


class RoundStanding(StrEnum):
    """How the terms take one letter that asks for changes on one passage."""

    IN_FEE = "in-fee"
    OVER = "beyond-the-fee"
    OUTSIDE = "outside-the-fee"
    NOT_COUNTED = "not-counted"


class Round(NamedTuple):
    """One letter that asks for changes on one passage; `seq` is its ledger line, `version` the terms.

    `counted_with` names the passage on which the same letter's round is counted already, where the terms take one
    letter as one round on however many spreads.
    """

    seq: int
    on: date
    passage: int
    standing: RoundStanding
    version: int
    counted_with: int | None = None


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


@dataclass(frozen=True, kw_only=True)
class RoundCounts:
    """Every round of a book, and the sums. A passage's `left` is its group's."""

    rounds: tuple[Round, ...]
    used: UsedRounds
    passages: dict[int, RoundSum]
    groups: dict[GroupKey, RoundSum]
    stages: dict[str, RoundSum]
    book: RoundSum


def count_under(story: Story, receipts: Receipts, as_of: date) -> RoundCounts:
    """Judge every letter by the terms of its day, and add up.

    A letter that asks for changes on a passage is one round on it, or one round altogether where the terms count by
    delivery. What exceeds the fee was beyond it on the
    day the letter went; more rounds agreed later are new rounds, they do not pay for old ones.
    """
    rounds, used = _judge(story, receipts)
    now = receipts.terms.on(as_of)
    behind = story.behind(now.version)
    groups: dict[GroupKey, list[PassageStory]] = {}
    for passage_story in story.passages.values():
        groups.setdefault(key_of(passage_story.spread, passage_story.stage, now), []).append(passage_story)
    by_passage: dict[int, list[Round]] = {passage: [] for passage in story.passages}
    for one in rounds:
        by_passage[one.passage].append(one)
    sums, passages = _sum_groups(groups, by_passage, now, used, behind)
    return RoundCounts(
        rounds=tuple(rounds),
        used=used,
        passages=passages,
        groups=sums,
        stages=_sum_stages(story, by_passage, now, sums, behind),
        book=_total(rounds, sums.values(), behind),
    )


def _sum_groups(
    groups: dict[GroupKey, list[PassageStory]],
    by_passage: dict[int, list[Round]],
    now: Terms,
    used: UsedRounds,
    behind: tuple[int, ...],
) -> tuple[dict[GroupKey, RoundSum], dict[int, RoundSum]]:
    sums: dict[GroupKey, RoundSum] = {}
    passages: dict[int, RoundSum] = {}
    for key, members in groups.items():
        spread, stage = members[0].spread, members[0].stage
        included = now.group_for(spread.part, stage).rounds
        left = max(0, included - used.of(spread, stage, now))
        if all(story.is_dropped for story in members):
            # What a dropped spread has used stays used; the rounds that it had left go with it.
            included, left = included - left, 0
        sums[key] = _sum(_once(one for story in members for one in by_passage[story.passage]), included, left, behind)
        for story in members:
            passages[story.passage] = _sum(by_passage[story.passage], included, left, behind)
    return sums, passages


def _sum_stages(
    story: Story,
    by_passage: dict[int, list[Round]],
    now: Terms,
    sums: dict[GroupKey, RoundSum],
    behind: tuple[int, ...],
) -> dict[str, RoundSum]:
    """Add up what happened at each stage; what several stages share is included in each of them."""
    stages: dict[str, list[PassageStory]] = {}
    for told in story.everyone():
        stages.setdefault(told.stage, []).append(told)
    found = {}
    for stage, members in stages.items():
        keys = dict.fromkeys(key_of(told.spread, stage, now) for told in members)
        rounds = [one for told in members for one in by_passage[told.passage]]
        found[stage] = _total(rounds, [sums[key] for key in keys], behind)
    return found


def _total(rounds: Iterable[Round], parts: Iterable[RoundSum], behind: tuple[int, ...]) -> RoundSum:
    shared = list(parts)
    return _sum(_once(rounds), sum(one.included for one in shared), sum(one.left for one in shared), behind)


def _once(rounds: Iterable[Round]) -> list[Round]:
    """Keep each round once: a letter that is one round on many spreads stands with one of them, here or elsewhere."""
    found = list(rounds)
    here = {(one.seq, one.passage) for one in found}
    told: set[tuple[int, int]] = set()
    kept = []
    for one in found:
        with_ = (one.seq, one.counted_with or one.passage)
        if one.counted_with is None or (with_ not in here and with_ not in told):
            kept.append(one)
        told.add(with_)
    return kept


def _sum(rounds: Iterable[Round], included: int, left: int, behind: tuple[int, ...]) -> RoundSum:
    found = list(rounds)
    n = dict.fromkeys(RoundStanding, 0)
    for one in found:
        n[one.standing] += 1
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


def _judge(story: Story, receipts: Receipts) -> tuple[list[Round], UsedRounds]:
    asked = sorted(
        (
            (event.seq, passage_story.passage, event)
            for passage_story in story.passages.values()
            for event in _asks(passage_story)
        ),
        key=lambda found: found[:2],
    )
    used = UsedRounds()
    rounds = []
    reopened: set[int] = set()
    approved = approved_first(story)
    first: dict[tuple[int, GroupKey, RoundStanding], int] = {}
    for seq, passage, event in asked:
        told = story.passages[passage]
        held, on = receipts.version(event), receipts.written_on(event)
        if event.data.get("reopened"):
            reopened.add(passage)
        settled = approved.get((told.spread.spread, held.new_work_after), seq) < seq
        before = Before(used=used, was_approved=passage in reopened, is_settled=settled, letter=seq)
        standing = standing_of(told, event.data, held, before)
        if standing == RoundStanding.IN_FEE:
            used.add(told.spread, told.stage, seq)
        counted_with = None
        if is_of_the_letter(told, standing, held):
            counted_with = first.setdefault((seq, key_of(told.spread, told.stage, held), standing), passage)
        with_ = None if counted_with == passage else counted_with
        rounds.append(
            Round(seq=seq, on=on, passage=passage, standing=standing, version=held.version, counted_with=with_)
        )
    return rounds, used


def _asks(story: PassageStory) -> list[Event]:
    return [
        event for event in story.events if event.deed == Deed.SEND_LETTER and event.data.get("answer") == Answer.ASK
    ]


class Before(NamedTuple):
    """What there was before a letter asked.

    used          the rounds of the fee used so far
    was_approved  whether the passage itself was approved once
    is_settled    whether the stage was approved after which the terms take new work as outside the fee
    letter        the letter's own ledger line
    """

    used: UsedRounds
    was_approved: bool
    is_settled: bool
    letter: int


def standing_of(story: PassageStory, ask: AboutPassage, held: Terms, before: Before) -> RoundStanding:
    """Say how the terms take one ask after what was before it.

    What was approved once stays outside the fee: the second change to it is as far beyond what was agreed as the
    first. Where the terms say so, a new direction or a changed text is outside it as soon as the sketch was approved,
    at whatever stage it is asked. Only an ask that the terms count as no change at all is neither, and one of what the
    printer made, which goes back there.
    """
    causes = ask.get("causes") or ()
    is_printers = ask.get("handed_in_by", Role.ILLUSTRATOR) != Role.ILLUSTRATOR
    if is_printers or not is_counted(causes, brief_counts=held.brief_counts):
        return RoundStanding.NOT_COUNTED
    if before.was_approved or (before.is_settled and not _NEW_WORK.isdisjoint(causes)):
        return RoundStanding.OUTSIDE
    n_used = before.used.of(story.spread, story.stage, held, but=before.letter)
    included = held.group_for(story.spread.part, story.stage).rounds
    return RoundStanding.IN_FEE if n_used < included else RoundStanding.OVER


def is_of_the_letter(story: PassageStory, standing: RoundStanding, held: Terms) -> bool:
    """Say whether an ask is a round of its letter, counted once with the letter's other spreads."""
    per = held.group_for(story.spread.part, story.stage).per
    return per == RoundsPer.DELIVERY and standing in (RoundStanding.IN_FEE, RoundStanding.OVER)


_NEW_WORK = frozenset({Cause.DIRECTION, Cause.TEXT})
