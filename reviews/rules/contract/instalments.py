"""Instalments: what each is worth, and when its milestone was met."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from reviews.rules.contract.amounts import Step, Working, share_of, together
from reviews.rules.contract.days import period_end
from reviews.rules.contract.fees import COVER, EVERY_SPREAD, HUNDRED, Instalment, Milestone, Money
from reviews.rules.contract.terms import Terms
from reviews.rules.contract.timeline import PassageStory, Story
from reviews.rules.contract.turn import Turn
from reviews.rules.states import Deed, PassageState, Side

_DONE = (PassageState.APPROVED, PassageState.PASSED)


@dataclass(frozen=True, kw_only=True)
class InstalmentState:
    """One instalment: what it is worth, whether its milestone is met, and by when it is to be paid.

    `n_reached` passages have reached the milestone and `n_needed` must; `met_on` is set when so many have.
    """

    name: str
    money: Money | None
    share: Decimal | None
    met_on: date | None
    pay_by_on: date | None
    n_reached: int
    n_needed: int
    entries: tuple[int, ...]

    @property
    def working(self) -> tuple[Working, ...]:
        """Write it as a line of a sum; none where it is worth nothing that can be said."""
        if self.money is None:
            return ()
        step = Step.INSTALMENT
        return (Working(step=step, money=self.money, share=self.share, name=self.name, entries=self.entries),)


@dataclass(frozen=True)
class Reached:
    """A day on which something was reached, and the entry that tells it; 0 where the terms alone say so."""

    on: date
    seq: int


def amounts_of(terms: Terms) -> list[Money | None]:
    """Give each instalment its amount. Shares that make up the whole fee add up to it exactly, to the last
    coin."""
    shares = [part for part in terms.instalments if part.share is not None]
    amounts = {id(part): share_of(terms.fee, part.share) for part in shares if terms.fee and part.share is not None}
    if terms.fee and shares and sum(part.share or 0 for part in shares) == HUNDRED:
        others = sum((amounts[id(part)].amount for part in shares[:-1]), Decimal(0))
        amounts[id(shares[-1])] = Money(terms.fee.amount - others, terms.fee.currency)
    return [part.amount or amounts.get(id(part)) for part in terms.instalments]


def instalment_states(
    story: Story, terms: Terms, turns: Mapping[int, Sequence[Turn]], as_of: date
) -> tuple[InstalmentState, ...]:
    """Say of each instalment how far it is on a day."""
    return tuple(
        _state(part, money, story, turns, terms, as_of)
        for part, money in zip(terms.instalments, amounts_of(terms), strict=True)
    )


def _state(
    part: Instalment,
    money: Money | None,
    story: Story,
    turns: Mapping[int, Sequence[Turn]],
    terms: Terms,
    as_of: date,
) -> InstalmentState:
    reached, needed, met_on = _milestone(part, story, turns, terms, as_of)
    made_it = sorted(reached, key=lambda one: (one.on, one.seq))
    # The publisher pays, so its own closed days put the day off.
    pay_by_on = period_end(met_on, part.pay_within_days, terms.calendar_of(Side.PUBLISHER)) if met_on else None
    counted = made_it[:needed] if met_on else made_it
    return InstalmentState(
        name=part.name,
        money=money,
        share=part.share,
        met_on=met_on,
        pay_by_on=pay_by_on,
        n_reached=len(reached),
        n_needed=needed,
        entries=together([(one.seq for one in counted if one.seq), story.behind(terms.version)]),
    )


def _milestone(
    part: Instalment, story: Story, turns: Mapping[int, Sequence[Turn]], terms: Terms, as_of: date
) -> tuple[list[Reached], int, date | None]:
    """Give what has been reached by the day, how many must be, and the day on which so many were."""
    named = {
        Milestone.DATE: (part.on, 0),
        Milestone.SIGNATURE: (terms.signed_on, 0),
        Milestone.PUBLICATION: (terms.published_on, 0),
        Milestone.START: (story.start_on, story.start_seq),
    }
    if part.falls in named:
        on, seq = named[part.falls]
        met_on = on if on and on <= as_of else None
        return ([Reached(met_on, seq)] if met_on else []), 1, met_on
    of_stage = [one for one in story.passages.values() if one.stage == part.stage and _is_of(one, part.part)]
    found = {one.passage: _reached(part, one, turns[one.passage]) for one in of_stage}
    # What came after the cut-off is received on a later day, and until then nothing falls due by it.
    reached = {passage: one for passage, one in found.items() if one is not None and one.on <= as_of}
    return list(reached.values()), *_met(part, of_stage, reached, terms, as_of)


def _met(
    part: Instalment, of_stage: Sequence[PassageStory], reached: Mapping[int, Reached], terms: Terms, as_of: date
) -> tuple[int, date | None]:
    """Say how many must have reached it, and the first day on which so many had.

    A spread that was dropped is needed no more, unless it had reached it: what was earned stays earned. One that was
    added is needed from the day on which it was. So dropping one makes nothing due before that day, and adding one
    takes nothing back that was due.
    """
    spans = {one.passage: _there(one, terms) for one in of_stage}
    turning = {on for spans_of in spans.values() for span in spans_of for on in span if date.min < on <= as_of}
    for on in sorted({*turning, *(one.on for one in reached.values())}):
        had = {passage for passage, one in reached.items() if one.on <= on}
        if len(had) >= _needed(part, spans, had, on):
            return _needed(part, spans, had, on), on
    return _needed(part, spans, set(reached), as_of), None


def _needed(part: Instalment, spans: Mapping[int, Sequence[tuple[date, date]]], had: set[int], on: date) -> int:
    there = {passage for passage, of in spans.items() if any(first <= on < until for first, until in of)}
    # A stage that no spread has is never reached: an instalment must not fall due because nothing was laid out.
    return max(1, -(-len(there | had) * part.of_spreads // 100))


def _there(story: PassageStory, terms: Terms) -> list[tuple[date, date]]:
    """List the days on which its spread is in the book, each span up to but without its last."""
    day = terms.day_rule.local_date
    first = day(story.added_at) if story.added_at else date.min
    spans = []
    for gone_at, back_at in story.away:
        spans.append((first, day(gone_at)))
        if back_at is None:
            return spans
        first = day(back_at)
    return [*spans, (first, date.max)]


def _is_of(story: PassageStory, part: str) -> bool:
    return part == EVERY_SPREAD or (story.spread.part == COVER) == (part == COVER)


def _reached(part: Instalment, story: PassageStory, turns: Sequence[Turn]) -> Reached | None:
    """Find when one spread met the milestone: for an approval that need not come, at the latest days after delivery."""
    met = first_reached(story, part.falls, turns)
    if part.after_days is None:
        return met
    delivered = first_reached(story, Milestone.HAND_IN, turns)
    if delivered is None:
        return met
    at_last = Reached(delivered.on + timedelta(part.after_days), delivered.seq)
    return at_last if met is None or at_last.on < met.on else met


def first_reached(story: PassageStory, milestone: Milestone, turns: Sequence[Turn]) -> Reached | None:
    """Find when a passage was first handed in or approved. What was earned stays earned if it is opened
    again."""
    if milestone == Milestone.HAND_IN:
        for turn in turns:
            # A withdrawn hand-in was a mistake, and an open publisher's turn or an answered one was not.
            if turn.side == Side.PUBLISHER and not _was_withdrawn(story, turn):
                return Reached(turn.from_on, turn.entries[0])
    for event in story.events:
        if event.to in _DONE:
            end = next((turn for turn in turns if event.seq in turn.entries and not turn.is_open), None)
            return Reached(end.ends_on if end and end.ends_on else event.at.date(), event.seq)
    return None


def _was_withdrawn(story: PassageStory, turn: Turn) -> bool:
    if turn.is_open:
        return False
    last = turn.entries[-1]
    return any(event.seq == last and event.deed == Deed.WITHDRAW_HAND_IN for event in story.events)
