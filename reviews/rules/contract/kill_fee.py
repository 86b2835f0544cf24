"""What would be owed if the book stopped today: the kill fee by its steps, what fell due, and changes earned."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from reviews.rules.contract.amounts import Step, Working, money_of, parts_of
from reviews.rules.contract.fees import HUNDRED, CancellationStep, Milestone, Money
from reviews.rules.contract.instalments import Reached, first_reached
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.timeline import PassageStory, Story
from reviews.rules.contract.turn import Turn
from reviews.rules.states import Deed, Gate


@dataclass(frozen=True, kw_only=True)
class Stopped:
    """What is owed if the book stopped today, in the currency of the fee; all None where the terms do not say.

    kill_fee     by the steps, each spread an equal part of the fee
    due_already  what instalments have made due: it stays due, so of the fee the larger of the two is owed
    extras       fees for changes that were earned
    owed         both together; ``balance`` is what is left of it after what was received: nothing is asked back
    """

    by_spread: Mapping[int, Money] = field(default_factory=dict)
    kill_fee: Money | None = None
    due_already: Money | None = None
    of_the_fee: Money | None = None
    extras: Money | None = None
    owed: Money | None = None
    paid: Money | None = None
    balance: Money | None = None
    entries: tuple[int, ...] = ()
    kill_working: tuple[Working, ...] = ()

    @property
    def working(self) -> tuple[Working, ...]:
        """Write what is owed as the larger of kill fee and instalments, and the changes earned."""
        if self.kill_fee is None or self.of_the_fee is None or self.extras is None:
            return ()
        step = Step.KILL_FEE if self.kill_fee == self.of_the_fee else Step.FALLEN_DUE
        lines = [Working(step=step, money=self.of_the_fee)]
        if self.extras.amount:
            lines.append(Working(step=Step.EXTRAS, money=self.extras))
        return tuple(lines)


@dataclass(frozen=True, kw_only=True)
class Earned:
    """What the rest of the account says when the book is thought to stop: sums by currency, and their entries."""

    fallen_due: Mapping[str, Decimal]
    extras: Mapping[str, Decimal]
    received: Mapping[str, Decimal]
    entries: tuple[int, ...]


def if_stopped(
    steps: Sequence[CancellationStep],
    story: Story,
    terms: Terms,
    turns: Mapping[int, Sequence[Turn]],
    earned: Earned,
    as_of: date,
) -> Stopped:
    """Work out what is owed by these steps: every spread is an equal part of the fee, at the point it reached.

    So is a dropped one for which something was handed in: what it had reached stays earned.
    """
    spreads: dict[int, list[PassageStory]] = {}
    for passage_story in (*story.in_order(), *_dropped_at_work(story)):
        spreads.setdefault(passage_story.spread.spread, []).append(passage_story)
    if terms.fee is None or not steps or not spreads:
        return Stopped()
    fee = terms.fee
    shares: dict[int, Decimal] = {}
    behind = {*story.behind(terms.version), *earned.entries}
    for spread, passages in spreads.items():
        shares[spread], reached = share_reached(steps, passages, turns, as_of, is_pro_rata=terms.kill_pro_rata)
        behind.update(one.seq for one in reached if one.seq)
    by_spread = dict(
        zip(
            shares,
            parts_of((fee.amount / len(spreads) * share / HUNDRED for share in shares.values()), fee.currency),
            strict=True,
        )
    )
    kill_fee = Money(sum((money.amount for money in by_spread.values()), Decimal(0)), fee.currency)
    return _together(kill_fee, by_spread, _kill_working(fee, shares), earned, tuple(sorted(behind)))


def _dropped_at_work(story: Story) -> list[PassageStory]:
    dropped = story.dropped()
    begun = {one.spread.spread for one in dropped if any(event.deed == Deed.HAND_IN for event in one.events)}
    return [one for one in dropped if one.spread.spread in begun]


def _together(
    kill_fee: Money,
    by_spread: Mapping[int, Money],
    working: tuple[Working, ...],
    earned: Earned,
    entries: tuple[int, ...],
) -> Stopped:
    def sum_of(purse: Mapping[str, Decimal]) -> Money:
        return money_of(purse.get(kill_fee.currency, Decimal(0)), kill_fee.currency)

    due, extras, paid = sum_of(earned.fallen_due), sum_of(earned.extras), sum_of(earned.received)
    of_the_fee = max(kill_fee, due, key=lambda money: money.amount)
    owed = Money(of_the_fee.amount + extras.amount, kill_fee.currency)
    return Stopped(
        by_spread=by_spread,
        kill_fee=kill_fee,
        due_already=due,
        of_the_fee=of_the_fee,
        extras=extras,
        owed=owed,
        paid=paid,
        balance=Money(max(Decimal(0), owed.amount - paid.amount), kill_fee.currency),
        entries=entries,
        kill_working=working,
    )


def _kill_working(fee: Money, shares: Mapping[int, Decimal]) -> tuple[Working, ...]:
    """Write the kill fee as so many spreads, each its part of the fee, at this share of it."""
    n_spreads = len(shares)
    each = money_of(fee.amount / n_spreads, fee.currency)
    found = sorted(Counter(shares.values()).items())
    moneys = parts_of((fee.amount / n_spreads * share / HUNDRED * n for share, n in found), fee.currency)
    return tuple(
        Working(step=Step.SPREADS, n=Decimal(n), each=each, share=share, money=money)
        for (share, n), money in zip(found, moneys, strict=True)
    )


def share_reached(
    steps: Sequence[CancellationStep],
    passages: Sequence[PassageStory],
    turns: Mapping[int, Sequence[Turn]],
    as_of: date,
    *,
    is_pro_rata: bool = False,
) -> tuple[Decimal, list[Reached]]:
    """Find the share for one spread, that of the last step it has reached, and what it has reached.

    Pro rata, the share rises by equal parts with each point between two steps: a stage that is answered has two points,
    handed in and approved; one that is not has the first.
    """
    points = [(Milestone.START, ""), *_points(passages)]
    found: dict[int, Reached] = {}
    for place, (milestone, stage) in enumerate(points[1:], start=1):
        theirs = (first_reached(story, milestone, turns[story.passage]) for story in passages if story.stage == stage)
        if (one := next(theirs, None)) is not None and one.on <= as_of:
            found[place] = one
    marks = [(points.index((step.reached, step.stage)), step.share) for step in steps if _is_there(step, points)]
    furthest = max(found, default=0)
    share = Decimal(0)
    for place, at_step in marks:
        if place == 0 or place in found:
            share = max(share, at_step)
    behind = [found[place] for place, _ in marks if place in found]
    if is_pro_rata:
        share = max(share, _between(marks, furthest))
        behind = [*behind, *(found[place] for place in found if place == furthest)]
    return share, behind


def _points(passages: Iterable[PassageStory]) -> list[tuple[Milestone, str]]:
    """List what a spread can reach, in order."""
    return [
        (milestone, story.stage)
        for story in passages
        for milestone in (Milestone.HAND_IN, Milestone.APPROVAL)
        if milestone == Milestone.HAND_IN or story.gate == Gate.ANSWERS
    ]


def _is_there(step: CancellationStep, points: Sequence[tuple[Milestone, str]]) -> bool:
    return (step.reached, step.stage) in points


def _between(marks: Sequence[tuple[int, Decimal]], furthest: int) -> Decimal:
    """Give the share at a point that lies between two steps: as far up as it lies along."""
    passed = max((mark for mark in marks if mark[0] <= furthest), default=(0, Decimal(0)))
    to_come = min((mark for mark in marks if mark[0] > furthest), default=None)
    if to_come is None:
        return passed[1]
    return passed[1] + (to_come[1] - passed[1]) * (furthest - passed[0]) / (to_come[0] - passed[0])
