"""How a sum of money was worked out: the lines of every working add up to it, whatever the terms."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from reviews.rules.contract.amounts import in_purse
from reviews.rules.contract.fees import COVER, INTERIOR, CancellationStep, Instalment, Milestone, Money, Price, PricedBy
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import RoundGroup, Terms, TermsHistory, check_terms
from reviews.rules.contract.terms_text import terms_from_text, terms_to_text
from tests.rules.ledgers import ledgers, plain_terms

NO_ROUNDS = (RoundGroup("sketch", ("sketch",), 0), RoundGroup("colour", ("colour",), 0))
IN_THE_END = date(2027, 1, 1)


@st.composite
def money_terms(draw: st.DrawFn) -> Terms:
    """Draw any terms of money for a book of three stages."""
    currency = draw(st.sampled_from(["GBP", "JPY", "KWD"]))
    stages = ("sketch", "ink", "colour")
    amount = st.integers(1, 900).map(lambda n: Money(Decimal(n), currency))
    share = st.integers(0, 100).map(Decimal)

    def price(stage: str, after: bool) -> Price:
        by = draw(st.sampled_from(PricedBy))
        if by != PricedBy.HOUR and draw(st.booleans()):
            return Price(by=by, stage=stage, after_approval=after, share=draw(share))
        return Price(by=by, stage=stage, after_approval=after, amount=draw(amount))

    about = draw(st.lists(st.tuples(st.sampled_from(["", *stages]), st.booleans()), unique=True, max_size=4))
    cuts = sorted(draw(st.lists(st.integers(0, 100), min_size=2, max_size=2)))
    parts = tuple(
        Instalment(
            name=f"Part {n}",
            falls=draw(st.sampled_from([Milestone.HAND_IN, Milestone.APPROVAL, Milestone.START, Milestone.SIGNATURE])),
            stage=draw(st.sampled_from(stages)),
            share=Decimal(of),
            part=draw(st.sampled_from(["", COVER, INTERIOR])),
            of_spreads=draw(st.integers(1, 100)),
        )
        for n, of in enumerate((cuts[0], cuts[1] - cuts[0], 100 - cuts[1]))
    )
    rising = sorted(draw(st.lists(share, min_size=3, max_size=3)))
    steps = (
        CancellationStep(Milestone.START, rising[0]),
        CancellationStep(Milestone.HAND_IN, rising[1], "ink"),
        CancellationStep(Milestone.APPROVAL, rising[2], "colour"),
    )
    return plain_terms(
        stages=tuple(plain_terms().stages[:1])
        + tuple(type(plain_terms().stages[0])(stage, 5, 3) for stage in ("ink", "colour")),
        groups=(RoundGroup("all", stages, draw(st.integers(0, 2))),),
        fee=Money(Decimal(draw(st.integers(1, 10**6))), currency),
        prices=tuple(price(*one) for one in about),
        round_fee=draw(st.none() | amount),
        free_share=draw(st.none() | share),
        instalments=parts,
        signed_on=draw(st.none() | st.just(date(2026, 2, 2))),
        cancellation=steps,
        rejection=steps if draw(st.booleans()) else (),
        kill_pro_rata=draw(st.booleans()),
    )


@given(ledgers(), money_terms(), st.integers(0, 40))
@settings(max_examples=150, deadline=None)
def test_the_lines_of_every_working_add_up_to_their_sum(book, terms, more):
    check_terms(terms)
    assert terms_from_text(terms_to_text(terms)) == terms
    as_of = book.entries[-1].at.date()
    if more:
        book.invoice(1, "100", book.entries[-1].at, currency=terms.fee.currency)
        book.received(1, book.entries[-1].at)
    money = draw_up(book.entries, TermsHistory((terms,)), as_of, book.spreads).money
    sums = [
        (money.fallen_due, money.fallen_due_working),
        (money.not_yet, money.not_yet_working),
        (money.balance, money.balance_working),
    ]
    for stopped in (money.cancellation, money.rejection):
        if stopped.kill_fee is not None:
            sums.append((in_purse([stopped.kill_fee]), stopped.kill_working))
            sums.append((in_purse([stopped.owed]), stopped.working))
            assert stopped.owed.amount >= max(stopped.kill_fee.amount, stopped.due_already.amount)
            assert sum(part.amount for part in stopped.by_spread.values()) == stopped.kill_fee.amount
    for told_sum, working in sums:
        assert in_purse(line.money for line in working) == told_sum
    owed = {
        currency: amount - (money.free.amount if money.free else 0) for currency, amount in money.extra_fees.items()
    }
    assert money.extra_owed == owed
    assert all(amount >= 0 for amount in money.extra_owed.values())
    fee = in_purse([part.money for part in money.instalments])
    assert fee == {terms.fee.currency: terms.fee.amount}
