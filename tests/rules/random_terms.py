"""Random terms: every clause a contract can have, drawn so that each value of each clause comes now and then.

`CLAUSES` draws each field of the terms; a new clause needs one line there, and ``test_random_books`` fails until it has
it. What a clause is made of is drawn too: each field of a price, an instalment, a period.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from reviews.rules.contract.day_ranges import DayRange
from reviews.rules.contract.fees import (
    COVER,
    INTERIOR,
    CancellationStep,
    Instalment,
    Milestone,
    Money,
    Price,
    PricedBy,
)
from reviews.rules.contract.periods import DayUnit, StageDays, StageSilence
from reviews.rules.contract.terms import RoundGroup, RoundsPer, Terms, WhenOver, check_terms
from reviews.rules.states import Side

STAGES = ("sketch", "ink", "colour")

#: The fee of a book that has one.
FEE = 9000


def pounds(amount: int | str) -> Money:
    return Money(Decimal(amount), "GBP")


def _ranges(side: Side | None) -> st.SearchStrategy:
    days = st.dates(date(2026, 3, 1), date(2026, 6, 1))
    return days.map(lambda day: DayRange(day, day + timedelta(4), side))


_NO_DATES = ((None, None),) * 3
#: Fixed for every spread: working days, a Saturday and a Sunday, and a day that is over before most stages open.
_DATES = (
    ((date(2026, 3, 7), None), (None, None), (date(2026, 4, 20), date(2026, 5, 3))),
    ((date(2026, 3, 16), date(2026, 3, 25)), (date(2026, 3, 30), None), (None, None)),
    ((None, None), (date(2026, 3, 4), None), (date(2026, 5, 1), None)),
)


@st.composite
def _days(draw: st.DrawFn) -> tuple[StageDays, ...]:
    """Days of each stage, in one unit: first and further versions, first and second looks; the cover may have its
    own."""
    n, m, unit = draw(st.integers(1, 12)), draw(st.integers(1, 12)), draw(st.sampled_from(DayUnit))
    redo, second = draw(st.sampled_from([None, 2])), draw(st.sampled_from([None, 1]))
    dates = draw(st.sampled_from([_NO_DATES, _NO_DATES, *_DATES]))
    every = tuple(
        StageDays(stage, n + k, m, redo_days=redo, second_look_days=second, unit=unit, hand_in_on=by, answer_on=told)
        for k, (stage, (by, told)) in enumerate(zip(STAGES, dates, strict=True))
    )
    return (*every, StageDays("sketch", n + 3, m, COVER, unit=unit)) if draw(st.booleans()) else every


_groups = st.one_of(
    st.just((RoundGroup("sketch", ("sketch",), 2), RoundGroup("colour", ("colour",), 1))),
    st.just((RoundGroup("all", STAGES, 1), RoundGroup("cover", ("sketch",), 3, COVER))),
    st.builds(lambda n, per: (RoundGroup("all", STAGES, n, per=per),), st.integers(0, 4), st.sampled_from(RoundsPer)),
)

#: Longer than any answer may take, as the terms demand.
_silences = st.lists(
    st.builds(
        StageSilence,
        st.sampled_from(STAGES),
        st.sampled_from([None, 14, 18]),
        st.sampled_from(DayUnit),
        st.sampled_from(["", COVER]),
    ),
    max_size=2,
    unique_by=lambda one: (one.part, one.stage),
).map(tuple)

_SHARED = (
    Instalment(name="Start", falls=Milestone.START, share=Decimal(25), pay_within_days=30),
    Instalment(name="Sketches", falls=Milestone.HAND_IN, stage="sketch", share=Decimal(25), of_spreads=50),
    Instalment(name="Colour", falls=Milestone.APPROVAL, stage="colour", share=Decimal(50), after_days=30),
)
_IN_SUMS = (
    Instalment(name="Signing", falls=Milestone.SIGNATURE, amount=pounds(3000), pay_within_days=14),
    Instalment(name="March", falls=Milestone.DATE, on=date(2026, 3, 16), amount=pounds(1500)),
    Instalment(name="Cover", falls=Milestone.APPROVAL, stage="ink", part=COVER, amount=pounds(1500)),
    Instalment(name="Inside", falls=Milestone.APPROVAL, stage="ink", part=INTERIOR, amount=pounds(2000)),
    Instalment(name="Out", falls=Milestone.PUBLICATION, amount=pounds(1000)),
)
_steps = st.sampled_from(
    [
        (),
        (CancellationStep(Milestone.START, Decimal(20)), CancellationStep(Milestone.APPROVAL, Decimal(60), "sketch")),
        (CancellationStep(Milestone.HAND_IN, Decimal(30), "sketch"),),
    ]
)
_prices = st.sampled_from(
    [
        (),
        (Price(by=PricedBy.ROUND, after_approval=True, amount=pounds(90)),),
        (
            Price(by=PricedBy.HOUR, amount=pounds(40)),
            Price(by=PricedBy.LETTER, stage="colour", after_approval=True, share=Decimal("1.5")),
        ),
        (Price(by=PricedBy.LETTER, amount=Money(Decimal(2500), "JPY")),),
        (Price(by=PricedBy.HOUR, amount=pounds("32.50")),),
    ]
)

CLAUSES: dict[str, st.SearchStrategy] = {
    "stages": _days(),
    "groups": _groups,
    "places": st.sampled_from([(), ("GB-ENG",), ("GB-ENG", "US"), ("IL", "GB-ENG"), ("", "US")]),
    "own_places": st.booleans(),
    "shut": st.lists(st.dates(date(2026, 3, 1), date(2026, 6, 1)), max_size=2).map(tuple),
    "closures": st.lists(st.one_of(*(_ranges(side) for side in (*Side, None))), max_size=2).map(tuple),
    "worked": st.lists(st.one_of(_ranges(None), _ranges(Side.ILLUSTRATOR)), max_size=1).map(tuple),
    "zone": st.sampled_from(["UTC", "Europe/London", "America/New_York", "Asia/Tokyo"]),
    "cut_off": st.sampled_from([None, time(12), time(17)]),
    "late_receipt": st.sampled_from(["as-is", "next-working-day"]),
    "counts_receipt": st.booleans(),
    "fixed_runs_on": st.booleans(),
    "brief_counts": st.booleans(),
    "new_work_after": st.sampled_from(["", "sketch"]),
    "publisher_late_moves": st.booleans(),
    "redo_from_letter": st.booleans(),
    "silence_approves_after": st.sampled_from([None, 13, 20]),
    "silences": _silences,
    "hand_in_grace": st.sampled_from([0, 0, 3]),
    "answer_grace": st.sampled_from([0, 0, 3]),
    "moves_at_most": st.sampled_from([None, None, 1]),
    "when_over": st.sampled_from(WhenOver),
    "printer_place": st.sampled_from(["", "DE"]),
    "fee": st.sampled_from([pounds(FEE), pounds(FEE), None]),
    "round_fee": st.sampled_from([None, pounds(150)]),
    "hour_fee": st.sampled_from([None, pounds("32.50")]),
    "prices": _prices,
    "free_share": st.sampled_from([None, Decimal(2)]),
    "instalments": st.sampled_from([(), _SHARED, _IN_SUMS]),
    "cancellation": _steps,
    "kill_pro_rata": st.booleans(),
    "rejection": _steps,
    "published_on": st.sampled_from([None, date(2026, 5, 4)]),
    "signed_on": st.sampled_from([None, date(2026, 2, 1)]),
}

#: What an amendment may change: any clause but these. A fee that changes makes no sense with sums that stay.
FIXED = ("fee", "instalments", "prices", "free_share")


@st.composite
def first_terms(draw: st.DrawFn) -> Terms:
    """The terms with which a book begins, as the portal would take them."""
    told: dict[str, Any] = {name: draw(clause) for name, clause in CLAUSES.items()}
    if told["fee"] is None:
        told["free_share"] = None
        told["prices"] = tuple(price for price in told["prices"] if price.share is None)
        told["instalments"] = tuple(part for part in told["instalments"] if part.share is None)
    terms = Terms(version=1, from_on=date(2026, 1, 1), **told)
    check_terms(terms)
    return terms


@st.composite
def amended(draw: st.DrawFn, last: Terms, from_on: date) -> Terms:
    """Another version, in which some clauses are other than in the last."""
    names = draw(st.lists(st.sampled_from([name for name in CLAUSES if name not in FIXED]), min_size=1, max_size=8))
    changed = {name: draw(CLAUSES[name]) for name in names}
    terms = replace(last, version=last.version + 1, from_on=from_on, **changed)
    check_terms(terms)
    return terms
