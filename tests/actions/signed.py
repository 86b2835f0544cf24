"""The contract that the tests of terms and of consent start from."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from reviews.models import Letter, TermsVersion
from reviews.rules.contract.terms import Instalment, Milestone, Money, RoundGroup, StageDays, Terms
from tests.agreed import change_terms
from tests.letter_scene import answered, draft_of, pinned
from tests.makers import handed_in


def contract(**changes) -> Terms:
    """What the two sides signed: one round for ideas, two for sketches, and a fee."""
    terms = Terms(
        version=1,
        from_on=date(2026, 11, 2),
        stages=(StageDays("ideas", 4, 2), StageDays("sketch", 9, 4), StageDays("colour", 12, 6)),
        groups=(RoundGroup("ideas", ("ideas",), 1), RoundGroup("sketch", ("sketch",), 2)),
        fee=Money(Decimal("9000.00"), "GBP"),
        round_fee=Money(Decimal("150.00"), "GBP"),
        instalments=(Instalment(name="All of it", falls=Milestone.START, share=Decimal(100)),),
    )
    return replace(terms, **changes)


def enter(cast, n_seen=0, **changes) -> TermsVersion:
    return change_terms(cast.book.pk, contract(**changes), n_seen=n_seen, actor=cast.art_director)


def a_round_more(cast, passage, seed=9) -> Letter:
    """Leave a draft that asks for changes on a passage once more."""
    handed_in(passage, cast.illustrator, [seed])
    pinned(passage, cast.art_director, "Once more.")
    answered(cast, passage, "ask")
    return draft_of(cast)
