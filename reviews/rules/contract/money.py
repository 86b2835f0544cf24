"""Money under the terms: instalments due and met, rounds beyond the fee, what is owed if the book stops
today.

Decimal arithmetic, rounded once per amount to the currency's smallest coin; two currencies are never added.
Every figure here is to be checked against the signed contract.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from reviews.rules.contract.currencies import DECIMALS, decimals_of
from reviews.rules.contract.days import period_end
from reviews.rules.contract.rounds import Round, RoundStanding
from reviews.rules.contract.terms import HUNDRED, CancellationStep, Instalment, Milestone, Money, Terms, TermsHistory
from reviews.rules.contract.timeline import PassageStory, Story
from reviews.rules.contract.turn import Turn
from reviews.rules.states import PassageState, Refused, Side

_DONE = (PassageState.APPROVED, PassageState.PASSED)


@dataclass(frozen=True, kw_only=True)
class InstalmentState:
    """One instalment: what it is worth, whether its milestone is met, and by when it is to be paid.

    `n_reached` of `n_needed` passages have reached the milestone; `met_on` is set when all have.
    """

    name: str
    money: Money | None
    met_on: date | None
    pay_by_on: date | None
    n_reached: int
    n_needed: int
    entries: tuple[int, ...]


@dataclass(frozen=True)
class ExtraRound:
    """What one round beyond or outside the fee costs; `money` is None where the terms name no fixed fee."""

    round: Round
    money: Money | None
    set_by: tuple[int, ...] = ()

    @property
    def entries(self) -> tuple[int, ...]:
        """Name the letter, and the entry of the terms that priced it."""
        return _together([(self.round.seq,), self.set_by if self.money else ()])


@dataclass(frozen=True)
class Cancellation:
    """What is owed if the book stopped today, by spread, and what of it the instalments have already made
    due."""

    by_spread: Mapping[int, Money]
    owed: Money | None
    due_already: Money | None
    balance: Money | None
    entries: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True)
class MoneyAccount:
    """All money of a book on one day. Sums are kept by currency."""

    #: The entries behind each sum are those of its parts.
    instalments: tuple[InstalmentState, ...]
    extras: tuple[ExtraRound, ...]
    cancellation: Cancellation
    fallen_due: Mapping[str, Decimal]
    not_yet: Mapping[str, Decimal]
    extra_fees: Mapping[str, Decimal]

    @property
    def fallen_due_by(self) -> tuple[int, ...]:
        return _together(part.entries for part in self.instalments if part.met_on)

    @property
    def not_yet_by(self) -> tuple[int, ...]:
        return _together(part.entries for part in self.instalments if not part.met_on)

    @property
    def extra_fees_by(self) -> tuple[int, ...]:
        return _together(extra.entries for extra in self.extras)


@dataclass(frozen=True)
class _Reached:
    on: date
    seq: int


def account(
    story: Story,
    terms: TermsHistory,
    turns: Mapping[int, Sequence[Turn]],
    rounds: Iterable[Round],
    as_of: date,
) -> MoneyAccount:
    """Work out every amount of a book on one day."""
    now = terms.on(as_of)
    amounts = amounts_of(now)
    instalments = tuple(
        _instalment(part, money, story, turns, now, as_of) for part, money in zip(now.instalments, amounts, strict=True)
    )
    extras = tuple(
        ExtraRound(one, _version(terms, one.version).round_fee, story.behind(one.version))
        for one in rounds
        if one.standing in (RoundStanding.OVER, RoundStanding.OUTSIDE) and one.counted_with is None
    )
    met = [part for part in instalments if part.met_on]
    return MoneyAccount(
        instalments=instalments,
        extras=extras,
        cancellation=_cancellation(story, now, turns, met, as_of),
        fallen_due=in_purse(part.money for part in met),
        not_yet=in_purse(part.money for part in instalments if not part.met_on),
        extra_fees=in_purse(extra.money for extra in extras),
    )


def _together(entries: Iterable[Iterable[int]]) -> tuple[int, ...]:
    return tuple(sorted({seq for some in entries for seq in some}))


def in_purse(amounts: Iterable[Money | None]) -> dict[str, Decimal]:
    """Add amounts up, each currency for itself."""
    purse: dict[str, Decimal] = {}
    for money in amounts:
        if money is not None:
            purse[money.currency] = purse.get(money.currency, Decimal(0)) + money.amount
    return dict(sorted(purse.items()))


def rounded(amount: Decimal, currency: str) -> Decimal:
    """Round half up to the smallest coin of the currency."""
    return amount.quantize(Decimal(1).scaleb(-decimals_of(currency)), ROUND_HALF_UP)


def share_of(fee: Money, share: Decimal) -> Money:
    """Take a share in per cent of a fee."""
    return Money(rounded(fee.amount * share / HUNDRED, fee.currency), fee.currency)


def amounts_of(terms: Terms) -> list[Money | None]:
    """Give each instalment its amount. Shares that make up the whole fee add up to it exactly, to the last
    coin."""
    shares = [part for part in terms.instalments if part.share is not None]
    amounts = {id(part): share_of(terms.fee, part.share) for part in shares if terms.fee and part.share is not None}
    if terms.fee and shares and sum(part.share or 0 for part in shares) == HUNDRED:
        others = sum((amounts[id(part)].amount for part in shares[:-1]), Decimal(0))
        amounts[id(shares[-1])] = Money(terms.fee.amount - others, terms.fee.currency)
    return [part.amount or amounts.get(id(part)) for part in terms.instalments]


def check_entered(terms: Terms) -> None:
    """Refuse money that is new and cannot be paid as it stands; versions kept from before stay as both signed them.

    Raises
    ------
    Refused
        ``bad-currency``, ``bad-decimals``, or ``instalments-not-whole`` where all are in the currency of the fee and
        come to another sum.
    """
    for money in (terms.fee, terms.round_fee, terms.hour_fee, *(part.amount for part in terms.instalments)):
        if money is None:
            continue
        if money.currency not in DECIMALS:
            raise Refused("bad-currency", currency=money.currency)
        if money.amount != rounded(money.amount, money.currency):
            decimals = decimals_of(money.currency)
            raise Refused("bad-decimals", amount=money.amount, currency=money.currency, decimals=decimals)
    amounts = [money for money in amounts_of(terms) if money is not None]
    fee = terms.fee
    if fee is None or not amounts or any(money.currency != fee.currency for money in amounts):
        return
    total = sum((money.amount for money in amounts), Decimal(0))
    if total != fee.amount:
        raise Refused("instalments-not-whole", total=total, fee=fee.amount, currency=fee.currency)


def _version(terms: TermsHistory, number: int) -> Terms:
    return next(version for version in terms.versions if version.version == number)


def _instalment(
    part: Instalment,
    money: Money | None,
    story: Story,
    turns: Mapping[int, Sequence[Turn]],
    terms: Terms,
    as_of: date,
) -> InstalmentState:
    reached, needed = _milestone(part, story, turns, as_of)
    met_on = max((one.on for one in reached), default=None) if len(reached) == needed else None
    # The publisher pays, so its own closed days put the day off.
    pay_by_on = period_end(met_on, part.pay_within_days, terms.calendar_of(Side.PUBLISHER)) if met_on else None
    entries = _together([(one.seq for one in reached if one.seq), story.behind(terms.version)])
    return InstalmentState(
        name=part.name,
        money=money,
        met_on=met_on,
        pay_by_on=pay_by_on,
        n_reached=len(reached),
        n_needed=needed,
        entries=entries,
    )


def _milestone(
    part: Instalment, story: Story, turns: Mapping[int, Sequence[Turn]], as_of: date
) -> tuple[list[_Reached], int]:
    if part.falls == Milestone.DATE:
        return ([_Reached(part.on, 0)] if part.on and part.on <= as_of else []), 1
    if part.falls == Milestone.START:
        begun = story.start_on is not None and story.start_on <= as_of
        return ([_Reached(story.start_on, story.start_seq)] if begun and story.start_on else []), 1
    of_stage = [passage_story for passage_story in story.passages.values() if passage_story.stage == part.stage]
    found = (first_reached(one, part.falls, turns[one.passage]) for one in of_stage)
    # What came after the cut-off is received on a later day, and until then nothing falls due by it.
    reached = [one for one in found if one is not None and one.on <= as_of]
    # A stage that no spread has is never reached: an instalment must not fall due because nothing was laid
    # out.
    return reached, max(1, len(of_stage))


def first_reached(story: PassageStory, milestone: Milestone, turns: Sequence[Turn]) -> _Reached | None:
    """Find when a passage was first handed in or approved. What was earned stays earned if it is opened
    again."""
    if milestone == Milestone.HAND_IN:
        for turn in turns:
            # A withdrawn hand-in was a mistake, and an open publisher's turn or an answered one was not.
            if turn.side == Side.PUBLISHER and not _was_withdrawn(story, turn):
                return _Reached(turn.from_on, turn.entries[0])
    for event in story.events:
        if event.to in _DONE:
            end = next((turn for turn in turns if event.seq in turn.entries and not turn.is_open), None)
            return _Reached(end.ends_on if end and end.ends_on else event.at.date(), event.seq)
    return None


def _was_withdrawn(story: PassageStory, turn: Turn) -> bool:
    if turn.is_open:
        return False
    last = turn.entries[-1]
    return any(event.seq == last and event.deed == "withdraw-hand-in" for event in story.events)


def _cancellation(
    story: Story, terms: Terms, turns: Mapping[int, Sequence[Turn]], met: Sequence[InstalmentState], as_of: date
) -> Cancellation:
    """Work out the share owed: every spread counts for an equal part of the fee, at the point it has
    reached."""
    spreads: dict[int, list[PassageStory]] = {}
    for passage_story in story.in_order():
        spreads.setdefault(passage_story.spread.spread, []).append(passage_story)
    if terms.fee is None or not terms.cancellation or not spreads:
        return Cancellation({}, None, None, None)
    fee = terms.fee
    by_spread: dict[int, Money] = {}
    exact = Decimal(0)
    behind = set(story.behind(terms.version))
    for spread, passages in spreads.items():
        share, reached = cancellation_share(terms.cancellation, passages, turns, as_of)
        part = fee.amount / len(spreads) * share / HUNDRED
        exact += part
        by_spread[spread] = Money(rounded(part, fee.currency), fee.currency)
        behind.update(one.seq for one in reached)
    owed = Money(rounded(exact, fee.currency), fee.currency)
    due_already = Money(in_purse(part.money for part in met).get(fee.currency, Decimal(0)), fee.currency)
    balance = Money(max(Decimal(0), owed.amount - due_already.amount), fee.currency)
    behind.update(seq for part in met for seq in part.entries)
    return Cancellation(by_spread, owed, due_already, balance, tuple(sorted(behind)))


def cancellation_share(
    steps: Iterable[CancellationStep],
    passages: Sequence[PassageStory],
    turns: Mapping[int, Sequence[Turn]],
    as_of: date,
) -> tuple[Decimal, list[_Reached]]:
    """Find the share for one spread, that of the last step it has reached, and what it has reached."""
    share = Decimal(0)
    behind: list[_Reached] = []
    for step in steps:
        of_stage = [story for story in passages if story.stage == step.stage]
        found = (first_reached(story, step.reached, turns[story.passage]) for story in of_stage)
        reached = [one for one in found if one is not None and one.on <= as_of]
        if reached or step.reached == Milestone.START:
            share = max(share, step.share)
            behind += reached
    return share, behind
