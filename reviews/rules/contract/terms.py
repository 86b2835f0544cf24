"""The contract as data: rounds, days, money, and the days from which each version of it holds.

Terms are plain and frozen; an amendment is a new version with the day it applies from, and never reaches
back.
Every default here is the cautious one; the figures themselves come from the signed contract.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from decimal import Decimal
from enum import StrEnum
from functools import cached_property
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from reviews.rules.contract.calendars import Calendar, working_calendar
from reviews.rules.contract.day_ranges import DayRange, check_ranges, days_of
from reviews.rules.contract.days import DayRule, Receipt
from reviews.rules.contract.fees import COVER as COVER
from reviews.rules.contract.fees import EVERY_SPREAD as EVERY_SPREAD
from reviews.rules.contract.fees import HUNDRED as HUNDRED
from reviews.rules.contract.fees import CancellationStep as CancellationStep
from reviews.rules.contract.fees import Instalment as Instalment
from reviews.rules.contract.fees import Milestone as Milestone
from reviews.rules.contract.fees import Money as Money
from reviews.rules.contract.fees import (
    Price,
    check_amount,
    check_days,
    check_instalments,
    check_prices,
    check_share,
    check_steps,
)
from reviews.rules.contract.own_days import MOST_PLACES, side_calendars
from reviews.rules.contract.period_checks import check_periods, known_stage
from reviews.rules.contract.periods import StageDays as StageDays
from reviews.rules.contract.periods import StageSilence
from reviews.rules.hands import PRINTERS_STAGES
from reviews.rules.states import Refused, Side

MOST_ROUNDS = 20
#: Where the whole book shares them: a round on each spread of a long one, some four times over.
MOST_ROUNDS_A_BOOK = 100


class WhenOver(StrEnum):
    """What happens to a letter that goes beyond the rounds in the fee."""

    TELL = "tell"
    AGENT_CONSENT = "agent-consent"
    REFUSE = "refuse"


class RoundsPer(StrEnum):
    """Whose rounds a number in the terms is.

    SPREAD    each spread has its own
    DELIVERY  the book has them: one letter is one round, on however many spreads it asks for changes
    BOOK      the book has them: each spread on which a letter asks for changes is one
    """

    SPREAD = "spread"
    DELIVERY = "delivery"
    BOOK = "book"


@dataclass(frozen=True)
class RoundGroup:
    """Rounds of changes in the fee for one stage or for several stages together, and whose they are."""

    name: str
    stages: tuple[str, ...]
    rounds: int
    part: str = EVERY_SPREAD
    per: RoundsPer = RoundsPer.SPREAD


@dataclass(frozen=True, kw_only=True)
class Terms:
    """One version of the contract; `from_on` is the day it applies from.

    fixed_runs_on           whether a date fixed for a stage runs to the next working day where it lies on a closed one;
                            else it stands
    brief_counts            whether a letter in which every change is "the brief was not met" uses a round
    new_work_after          the stage after whose approval a new direction or a changed text is outside the fee at
                            every later stage of the spread too; empty: only where the stage itself was approved
    publisher_late_moves    whether each working day the publisher is late moves the illustrator's dates by
                            one
    redo_from_letter        whether a changed version is due by its own days from the letter even where the day planned
                            or agreed before is later; else it is due by the later of the two
    silence_approves_after  working days without an answer after which a hand-in counts as approved; None:
                            never
    silences                stages at which silence counts otherwise than ``silence_approves_after`` says
    hand_in_grace,          working days after a last day that nobody counts as late; only those beyond are
    answer_grace
    moves_at_most           how often each date may be moved later by agreement; None: as often as both agree
    places, own_places      the illustrator's place, then the publisher's; whether each side counts the days
                            worked in its own place, or both only those worked in every place named
    closures, worked        days on which one side or both are closed, beyond ``shut``, or work though it is a holiday
    printer_place           where the printer works: the book's last day is one that is worked there; empty: not said
    round_fee, hour_fee     what a round beyond the fee costs where no price of ``prices`` speaks of it: a fixed sum,
                            or so much an hour
    signed_on               the day of signing, on which instalments on signature fall due
    published_on            the day of publication, once both sides know it
    free_share              changes beyond the fee are free up to this share of it, in per cent
    kill_pro_rata           whether the kill fee rises evenly between its steps, or stays until the next is reached
    rejection               what is owed if the work is rejected, apart from a cancellation; empty: not agreed
    pauses                  days on which the work rests, as both sides agreed since: no clause of the contract, and no
                            part of its text
    """

    version: int
    from_on: date
    stages: tuple[StageDays, ...]
    groups: tuple[RoundGroup, ...]
    places: tuple[str, ...] = ()
    own_places: bool = False
    shut: tuple[date, ...] = ()
    closures: tuple[DayRange, ...] = ()
    worked: tuple[DayRange, ...] = ()
    printer_place: str = ""
    zone: str = "UTC"
    cut_off: time | None = None
    late_receipt: Receipt = "as-is"
    counts_receipt: bool = False
    fixed_runs_on: bool = True
    brief_counts: bool = True
    new_work_after: str = ""
    publisher_late_moves: bool = False
    redo_from_letter: bool = False
    silence_approves_after: int | None = None
    silences: tuple[StageSilence, ...] = ()
    hand_in_grace: int = 0
    answer_grace: int = 0
    moves_at_most: int | None = None
    when_over: WhenOver = WhenOver.TELL
    fee: Money | None = None
    round_fee: Money | None = None
    hour_fee: Money | None = None
    instalments: tuple[Instalment, ...] = ()
    cancellation: tuple[CancellationStep, ...] = ()
    signed_on: date | None = None
    published_on: date | None = None
    prices: tuple[Price, ...] = ()
    free_share: Decimal | None = None
    kill_pro_rata: bool = False
    rejection: tuple[CancellationStep, ...] = ()
    pauses: tuple[DayRange, ...] = ()

    @cached_property
    def amounts(self) -> tuple[Money, ...]:
        """Collect every amount of money that stands in the terms."""
        named = (self.fee, self.round_fee, self.hour_fee)
        parts, prices = (part.amount for part in self.instalments), (price.amount for price in self.prices)
        return tuple(money for money in (*named, *parts, *prices) if money is not None)

    @cached_property
    def calendar(self) -> Calendar:
        """Give the days that are worked on both sides: working days in every place kept."""
        shut = {*self.shut, *days_of(self.closures, None)}
        return working_calendar(
            filter(None, self.places),
            shut=shut,
            worked=days_of(self.worked, None),
            paused=days_of(self.pauses, None),
        )

    def calendar_of(self, side: Side) -> Calendar:
        """Give the days that count for one side."""
        return self._calendars[side]

    @cached_property
    def _calendars(self) -> Mapping[Side, Calendar]:
        return side_calendars(
            self.places,
            self.shut,
            own_places=self.own_places,
            closures=self.closures,
            worked=self.worked,
            pauses=self.pauses,
        )

    @cached_property
    def printer_calendar(self) -> Calendar | None:
        """Give the days on which the printer works; None where the terms do not say where."""
        return working_calendar([self.printer_place]) if self.printer_place else None

    def maker_calendar(self, stage: str) -> Calendar:
        """Give the days that count for whoever makes a stage: at proof the printer's own, or else the publisher's."""
        if stage not in PRINTERS_STAGES:
            return self.calendar_of(Side.ILLUSTRATOR)
        if self.printer_calendar is None:
            return self.calendar_of(Side.PUBLISHER)
        return replace(self.printer_calendar, paused=days_of(self.pauses, None))

    @cached_property
    def day_rule(self) -> DayRule:
        """Give the rule by which days are counted."""
        return DayRule(self.zone, self.cut_off, self.late_receipt, self.counts_receipt)

    @cached_property
    def stage_names(self) -> frozenset[str]:
        """Collect the stages that have days."""
        return frozenset(line.stage for line in self.stages)

    def days_for(self, part: str, stage: str) -> StageDays | None:
        """Look up the days of a stage. None for a stage the terms do not name."""
        return self._days.get((part, stage)) or self._days.get((EVERY_SPREAD, stage))

    def silence_at(self, part: str, stage: str) -> StageSilence | None:
        """Find after how long silence approves at a stage; None where it never does."""
        found = self._silences.get((part, stage)) or self._silences.get((EVERY_SPREAD, stage))
        if found is None and self.silence_approves_after is not None:
            return StageSilence(stage, self.silence_approves_after)
        return found if found is not None and found.days is not None else None

    @cached_property
    def lets_silence_approve(self) -> bool:
        """Say whether silence counts as approval anywhere."""
        return self.silence_approves_after is not None or any(one.days is not None for one in self.silences)

    def grace_of(self, side: Side) -> int:
        """Give the working days by which a side may be over without being late."""
        return self.hand_in_grace if side == Side.ILLUSTRATOR else self.answer_grace

    @cached_property
    def _silences(self) -> Mapping[tuple[str, str], StageSilence]:
        return {(line.part, line.stage): line for line in self.silences}

    def group_for(self, part: str, stage: str) -> RoundGroup:
        """Look up the group whose rounds a stage uses. A stage in no group has no rounds in the fee."""
        found = self._groups.get((part, stage)) or self._groups.get((EVERY_SPREAD, stage))
        return found or RoundGroup(stage, (stage,), 0, part)

    @cached_property
    def _days(self) -> Mapping[tuple[str, str], StageDays]:
        return {(line.part, line.stage): line for line in self.stages}

    @cached_property
    def _groups(self) -> Mapping[tuple[str, str], RoundGroup]:
        return {(group.part, stage): group for group in self.groups for stage in group.stages}


@dataclass(frozen=True)
class TermsHistory:
    """All versions of a book's terms, oldest first; both the old and the amended stay readable."""

    versions: tuple[Terms, ...]

    def on(self, day: date) -> Terms:
        """Find the version that holds on a day. Before the first version's date, the first one holds."""
        held = self.versions[0]
        if len(self.versions) == 1:
            return held  # asked for every entry of a ledger
        for version in self.versions[1:]:
            if version.from_on > day:
                break
            held = version
        return held

    def at(self, moment: datetime) -> Terms:
        """Find the version by which something given at a moment counts: the one that both sides read then."""
        if len(self.versions) == 1:
            return self.versions[0]  # asked for every moment of a ledger: no zone is looked up for what has no other
        return self.on(self.versions[0].day_rule.local_date(moment))

    def numbered(self, version: int) -> Terms:
        """Find a version by its number."""
        return self._numbered[version]

    @cached_property
    def _numbered(self) -> Mapping[int, Terms]:
        return {held.version: held for held in self.versions}

    def paused(self, pauses: tuple[DayRange, ...]) -> TermsHistory:
        """Let every version count with these pauses, and no others."""
        if all(version.pauses == pauses for version in self.versions):
            return self
        return TermsHistory(tuple(replace(version, pauses=pauses) for version in self.versions))

    def known_on(self, day: date) -> TermsHistory:
        """Drop the versions that do not hold yet on a day, so that a past statement reads as it did then."""
        return TermsHistory((self.versions[0], *(kept for kept in self.versions[1:] if kept.from_on <= day)))

    def amended(self, terms: Terms, today: date, *, reaches_back: bool = False) -> TermsHistory:
        """Add an amendment, or refuse one that would rewrite what has happened.

        It holds from its own day on; what happened before stays under the terms of its time. That day may be over only
        where both sides say so (``reaches_back``).
        """
        check_terms(terms)
        last = self.versions[-1]
        if terms.from_on < today and not reaches_back:
            raise Refused("amendment-in-past", today=today)
        if terms.from_on < last.from_on:
            raise Refused("amendment-out-of-order", earliest=last.from_on)
        if replace(terms, version=last.version, from_on=last.from_on, pauses=last.pauses) == last:
            raise Refused("amendment-same")
        return TermsHistory((*self.versions, replace(terms, version=last.version + 1, pauses=last.pauses)))


def check_terms(terms: Terms) -> None:
    """Refuse terms that nobody could keep or count by.

    Raises
    ------
    Refused
        with one of the codes of ``pages/wording/term_refusals.py``.
    """
    _check_calendar(terms)
    check_periods(terms.stages, terms.silences, terms.silence_approves_after)
    for days in (terms.hand_in_grace, terms.answer_grace):
        check_days(days, "negative-days-grace")
    check_days(terms.moves_at_most or 0, "negative-moves")
    _check_groups(terms)
    for money in terms.amounts:
        check_amount(money)
    has_fee = terms.fee is not None
    check_instalments(terms.instalments, has_fee=has_fee, stages=terms.stage_names)
    check_prices(terms.prices, has_fee=has_fee, stages=terms.stage_names)
    if terms.free_share is not None:
        check_share(terms.free_share, "bad-share-free")
        if not has_fee:
            raise Refused("fee-missing")
    check_steps(terms.cancellation, terms.stage_names)
    check_steps(terms.rejection, terms.stage_names)


def _check_calendar(terms: Terms) -> None:
    if len(terms.places) > MOST_PLACES:
        raise Refused("too-many-places")
    working_calendar(filter(None, [*terms.places, terms.printer_place]))
    check_ranges(terms.closures)
    check_ranges(terms.worked)
    try:
        ZoneInfo(terms.zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as unknown:
        raise Refused("unknown-zone", zone=terms.zone) from unknown


def _check_groups(terms: Terms) -> None:
    if terms.new_work_after and terms.new_work_after not in terms.stage_names:
        raise Refused("new-work-without-days", stage=known_stage(terms.new_work_after))
    seen: set[tuple[str, str]] = set()
    for group in terms.groups:
        if not group.stages:
            raise Refused("group-without-stages", group=group.name)
        most = MOST_ROUNDS if group.per == RoundsPer.SPREAD else MOST_ROUNDS_A_BOOK
        if not 0 <= group.rounds <= most:
            raise Refused("negative-rounds", group=group.name, most=most)
        for stage in group.stages:
            if (group.part, stage) in seen:
                raise Refused("stage-in-two-groups", stage=known_stage(stage))
            if stage not in terms.stage_names:
                raise Refused("group-without-days", stage=known_stage(stage))
            seen.add((group.part, stage))
