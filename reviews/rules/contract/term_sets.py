"""Ready sets of terms to start from: common practice, not law, and not advice.

Figures come from what illustrators' and authors' bodies and working illustrators say in public; every one of
them can be edited, and the signed contract decides. The source of each set stands beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, time
from decimal import Decimal
from enum import StrEnum

from reviews.rules.contract.terms import (
    COVER,
    CancellationStep,
    Instalment,
    Milestone,
    Money,
    RoundGroup,
    StageDays,
    Terms,
)


class Figure(StrEnum):
    """What a number of a ready set is for; each kind has its source."""

    HAND_IN_DAYS = "hand-in-days"
    ANSWER_DAYS = "answer-days"
    ONE_ROUND = "one-round"
    TWO_ROUNDS = "two-rounds"
    BRIEF = "brief"
    LATE_MOVES = "late-moves"
    CUT_OFF = "cut-off"
    INSTALMENTS = "instalments"
    PAY_WITHIN = "pay-within"
    KILL_FEE = "kill-fee"


class Source(StrEnum):
    """Where a number comes from. What has none that could be read is common practice."""

    COMMON = "common-practice"
    ILLUSTRATORS_BODY = "illustrators-body"
    GUILD_TERMS = "guild-terms"
    PUBLIC_TERMS = "public-terms"
    PRIVATE_CLIENTS = "private-clients"


@dataclass(frozen=True)
class ReadySet:
    """A set of terms under its code, and the source of each kind of its figures."""

    code: str
    terms: Terms
    sources: Mapping[Figure, Source]

    def source_of(self, figure: Figure) -> Source:
        """Name where a kind of figure comes from."""
        return self.sources.get(figure, Source.COMMON)


def filled_from(ready: ReadySet, held: Terms) -> Terms:
    """Take days, rounds, rules and shares from a ready set, and leave what is this book's own.

    Its places, zone and closed days, its fee and every other amount of money stay, and so do the cover's figures.
    """
    own = ready.terms
    return replace(
        held,
        stages=(*own.stages, *(line for line in held.stages if line.part == COVER)),
        groups=(*own.groups, *(group for group in held.groups if group.part == COVER)),
        silences=(*own.silences, *(line for line in held.silences if line.part == COVER)),
        cut_off=own.cut_off,
        late_receipt=own.late_receipt,
        counts_receipt=own.counts_receipt,
        brief_counts=own.brief_counts,
        new_work_after=own.new_work_after,
        publisher_late_moves=own.publisher_late_moves,
        silence_approves_after=own.silence_approves_after,
        hand_in_grace=own.hand_in_grace,
        answer_grace=own.answer_grace,
        when_over=own.when_over,
        instalments=own.instalments,
        cancellation=own.cancellation,
    )


_START = date(2000, 1, 1)

_BOOK_STAGES = (
    StageDays("ideas", 10, 5),
    StageDays("sketch", 20, 10),
    StageDays("full_sketch", 20, 10),
    StageDays("line", 15, 5),
    StageDays("ink", 15, 5),
    StageDays("flats", 10, 5),
    StageDays("colour", 40, 10),
    StageDays("finish", 5, 5),
    StageDays("proof", 5, 10),
    StageDays("gathered", 10, 5),
)

_BOOK_GROUPS = (
    RoundGroup("ideas", ("ideas",), 1),
    RoundGroup("sketches", ("sketch", "full_sketch"), 2),
    RoundGroup("line and ink", ("line", "ink", "flats"), 1),
    RoundGroup("colour", ("colour",), 1),
    RoundGroup("finish and proof", ("finish", "proof"), 1),
    RoundGroup("gathered", ("gathered",), 0),  # what the printer corrects is nobody's round
)


def _third(name: str, falls: Milestone, share: str, stage: str = "") -> Instalment:
    return Instalment(name=name, falls=falls, stage=stage, share=Decimal(share), pay_within_days=30)


#: A third on signature, on delivery of roughs, on acceptance of finals; a quarter, a half, the whole on
#: cancellation. Source: an adviser of the Association of Illustrators in Creative Bloq. Two rounds a
#: stage: usual in
#: public terms of working illustrators. The days are common practice, without a source.
_ILLUSTRATOR = Terms(
    version=1,
    from_on=_START,
    stages=_BOOK_STAGES,
    groups=_BOOK_GROUPS,
    zone="Europe/London",
    places=("GB-ENG",),
    cut_off=time(17),
    late_receipt="next-working-day",
    brief_counts=False,
    publisher_late_moves=True,
    fee=Money(Decimal("9000.00"), "GBP"),
    round_fee=Money(Decimal("150.00"), "GBP"),
    instalments=(
        _third("On signature", Milestone.START, "33.33"),
        _third("On delivery of the sketches", Milestone.HAND_IN, "33.33", "sketch"),
        _third("On acceptance of the colour", Milestone.APPROVAL, "33.34", "colour"),
    ),
    cancellation=(
        CancellationStep(Milestone.START, Decimal(25)),
        CancellationStep(Milestone.HAND_IN, Decimal(50), "sketch"),
        CancellationStep(Milestone.HAND_IN, Decimal(100), "colour"),
    ),
)

#: Trade contracts often give no number of rounds ("reasonable revisions"); two is a start for talking
#: about one.
_TRADE = Terms(
    version=1,
    from_on=_START,
    stages=tuple(StageDays(line.stage, line.hand_in_days, 20) for line in _BOOK_STAGES),
    groups=_BOOK_GROUPS,
    zone="America/New_York",
    places=("US",),
    brief_counts=True,
    fee=Money(Decimal("12000.00"), "USD"),
    instalments=(
        _third("On signature", Milestone.START, "25"),
        _third("On approval of the sketches", Milestone.APPROVAL, "50", "sketch"),
        _third("On approval of the colour", Milestone.APPROVAL, "25", "colour"),
    ),
    cancellation=(
        CancellationStep(Milestone.START, Decimal(25)),
        CancellationStep(Milestone.HAND_IN, Decimal(50), "sketch"),
        CancellationStep(Milestone.APPROVAL, Decimal(100), "colour"),
    ),
)

#: Small jobs: half and half, four working days to answer (public terms of working illustrators), strict on
#: rounds.
_SHORT = Terms(
    version=1,
    from_on=_START,
    stages=(StageDays("ideas", 5, 4), StageDays("sketch", 10, 4), StageDays("colour", 15, 4)),
    groups=(RoundGroup("sketches", ("ideas", "sketch"), 2), RoundGroup("colour", ("colour",), 1)),
    brief_counts=False,
    publisher_late_moves=True,
    fee=Money(Decimal("1500.00"), "EUR"),
    hour_fee=Money(Decimal("60.00"), "EUR"),
    instalments=(
        _third("At the start", Milestone.START, "50"),
        _third("On approval of the colour", Milestone.APPROVAL, "50", "colour"),
    ),
    cancellation=(
        CancellationStep(Milestone.START, Decimal(25)),
        CancellationStep(Milestone.HAND_IN, Decimal(50), "sketch"),
        CancellationStep(Milestone.HAND_IN, Decimal(100), "colour"),
    ),
)

_BODY = {Figure.INSTALMENTS: Source.ILLUSTRATORS_BODY, Figure.KILL_FEE: Source.ILLUSTRATORS_BODY}

READY_SETS = {
    ready.code: ready
    for ready in (
        ReadySet(
            "illustrator",
            _ILLUSTRATOR,
            {
                **_BODY,
                Figure.TWO_ROUNDS: Source.PUBLIC_TERMS,
                Figure.BRIEF: Source.GUILD_TERMS,
                Figure.LATE_MOVES: Source.PUBLIC_TERMS,
            },
        ),
        ReadySet(
            "trade",
            _TRADE,
            {Figure.INSTALMENTS: Source.PRIVATE_CLIENTS, Figure.KILL_FEE: Source.ILLUSTRATORS_BODY},
        ),
        ReadySet(
            "short",
            _SHORT,
            {
                Figure.ANSWER_DAYS: Source.PUBLIC_TERMS,
                Figure.TWO_ROUNDS: Source.PUBLIC_TERMS,
                Figure.BRIEF: Source.GUILD_TERMS,
                Figure.LATE_MOVES: Source.PUBLIC_TERMS,
                Figure.KILL_FEE: Source.ILLUSTRATORS_BODY,
            },
        ),
    )
}
