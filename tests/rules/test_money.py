from dataclasses import replace
from datetime import date, time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.pages.wording.refusals import sentence_for
from reviews.rules.contract.amounts import in_purse, rounded, share_of
from reviews.rules.contract.currencies import _BY_DECIMALS, DECIMALS
from reviews.rules.contract.instalments import amounts_of
from reviews.rules.contract.money import account, check_entered
from reviews.rules.contract.receipts import Receipts
from reviews.rules.contract.rounds import count_under
from reviews.rules.contract.terms import CancellationStep, Instalment, Milestone, Money, check_terms
from reviews.rules.contract.timeline import tell
from reviews.rules.contract.turns import all_turns
from reviews.rules.states import Refused
from tests.rules.ledgers import Ledger, day, history, plain_terms


def gbp(amount):
    return Money(Decimal(amount), "GBP")


THIRDS = (
    Instalment(name="Signature", falls=Milestone.START, share=Decimal("33.33"), pay_within_days=30),
    Instalment(name="Sketches", falls=Milestone.HAND_IN, stage="sketch", share=Decimal("33.33"), pay_within_days=30),
    Instalment(name="Colour", falls=Milestone.APPROVAL, stage="colour", share=Decimal("33.34"), pay_within_days=30),
)
STEPS = (
    CancellationStep(Milestone.START, Decimal(25)),
    CancellationStep(Milestone.HAND_IN, Decimal(50), "sketch"),
    CancellationStep(Milestone.HAND_IN, Decimal(100), "colour"),
)
FIELDS = {"fee": gbp("1000.00"), "round_fee": gbp("150"), "instalments": THIRDS, "cancellation": STEPS}


def drawn(book, as_of=date(2027, 1, 1), **changes):
    terms = history(**(FIELDS | changes))
    check_terms(terms.versions[0])
    receipts = Receipts(terms)
    story = tell(book.entries, book.spreads, until=terms.versions[0].day_rule.end_of(as_of))
    turns = all_turns(story, receipts, as_of)
    rounds = count_under(story, receipts, as_of).rounds
    return account(story, terms, turns, rounds, as_of)


def test_an_instalment_falls_due_when_every_spread_has_reached_its_stage():
    book = Ledger(n_spreads=2)
    book.hand_in(101, day("2026-03-06"))
    sketches = drawn(book).instalments[1]
    assert (sketches.met_on, sketches.n_reached, sketches.n_needed) == (None, 1, 2)
    book.hand_in(201, day("2026-03-13"))
    sketches = drawn(book).instalments[1]
    assert sketches.met_on == date(2026, 3, 13)
    # The two hand-ins, and the go-ahead whose plan implies the terms.
    assert sketches.entries == (1, 2, 3)


def test_payment_is_due_within_days_and_never_on_a_closed_day():
    signature = drawn(Ledger(), places=("GB-ENG",)).instalments[0]
    assert signature.met_on == date(2026, 3, 2)
    assert signature.pay_by_on == date(2026, 4, 1)
    late = drawn(Ledger(at=day("2026-03-05")), places=("GB-ENG",)).instalments[0]
    # Thirty days after 5 March is Easter Saturday; Easter Monday is a holiday too.
    assert late.pay_by_on == date(2026, 4, 7)


def test_what_was_earned_stays_earned_when_an_approved_picture_is_opened_again():
    book = Ledger(n_spreads=1, stages=("colour",))
    book.hand_in(101, day("2026-03-06"))
    book.letter(day("2026-03-10"), book.approve(101))
    book.letter(day("2026-04-10"), book.ask(101))
    fields = {
        "instalments": (
            *THIRDS[:1],
            Instalment(name="Rest", falls=Milestone.APPROVAL, stage="colour", share=Decimal("66.67")),
        )
    }
    assert drawn(book, **fields).instalments[1].met_on == date(2026, 3, 10)


def test_a_withdrawn_hand_in_earns_nothing():
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    book.withdraw(101, day("2026-03-06", hour=15))
    assert drawn(book).instalments[1].met_on is None
    book.hand_in(101, day("2026-03-09"))
    assert drawn(book).instalments[1].met_on == date(2026, 3, 9)


def test_silence_that_approves_makes_the_instalment_fall_due():
    book = Ledger(n_spreads=1, stages=("colour",))
    book.hand_in(101, day("2026-03-06"))
    rest = {
        "instalments": (
            *THIRDS[:1],
            Instalment(name="Rest", falls=Milestone.APPROVAL, stage="colour", share=Decimal("66.67")),
        )
    }
    assert drawn(book, **rest).instalments[1].met_on is None
    book.silence(101, day("2026-03-23"), "2026-03-20")
    assert drawn(book, **rest, silence_approves_after=10).instalments[1].met_on == date(2026, 3, 20)


def test_a_stage_that_no_spread_has_makes_nothing_fall_due():
    assert drawn(Ledger(stages=("sketch",))).instalments[2].met_on is None


def test_an_instalment_on_a_date_is_due_on_that_date():
    on = Instalment(name="Spring", falls=Milestone.DATE, on=date(2026, 5, 1), amount=gbp("10"))
    assert drawn(Ledger(), as_of=date(2026, 4, 30), instalments=(on,)).instalments[0].met_on is None
    assert drawn(Ledger(), as_of=date(2026, 5, 1), instalments=(on,)).instalments[0].met_on == date(2026, 5, 1)


def test_shares_of_the_whole_fee_add_up_to_it_to_the_last_penny():
    amounts = amounts_of(plain_terms(**FIELDS))
    assert [money.amount for money in amounts] == [Decimal("333.30"), Decimal("333.30"), Decimal("333.40")]


@given(
    st.decimals(0, 10**7, places=2),
    st.lists(st.integers(1, 5000), min_size=1, max_size=9),
    st.sampled_from(["GBP", "JPY", "KWD"]),
)
def test_shares_always_add_up(fee, weights, currency):
    fee = rounded(fee, currency)
    shares = [Decimal(weight * 10_000 // sum(weights)) / 100 for weight in weights]
    shares[-1] += 100 - sum(shares)
    parts = tuple(Instalment(name=str(n), falls=Milestone.START, share=share) for n, share in enumerate(shares))
    terms = plain_terms(fee=Money(fee, currency), instalments=parts)
    check_terms(terms)
    assert sum(money.amount for money in amounts_of(terms)) == fee


@pytest.mark.parametrize(
    ("amount", "currency", "code"),
    [
        ("1000", "JPY", None),
        ("1000.50", "JPY", "bad-decimals"),
        ("5000.5", "DJF", "bad-decimals"),
        ("1000.125", "KWD", None),
        ("1000.1255", "KWD", "bad-amount"),
        ("12.505", "GBP", "bad-amount"),
        ("12.5", "QQQ", "bad-currency"),
        ("12.5", "XAU", "bad-currency"),
        ("30.1234", "CLF", None),
    ],
)
def test_money_that_is_entered_has_the_decimals_of_its_currency(amount, currency, code):
    def entered():
        terms = plain_terms(round_fee=Money(Decimal(amount), currency))
        check_terms(terms)
        check_entered(terms)

    if code is None:
        entered()
        return
    with pytest.raises(Refused) as refused:
        entered()
    assert refused.value.code == code
    assert amount in sentence_for(refused.value) or currency in sentence_for(refused.value)


def test_what_was_entered_before_with_hundredths_can_still_be_read():
    check_terms(plain_terms(fee=Money(Decimal("1000.50"), "JPY")))


def test_instalments_that_do_not_add_up_to_the_fee_are_refused_with_both_sums():
    half = Instalment(name="Start", falls=Milestone.START, share=Decimal(50))
    rest = Instalment(name="End", falls=Milestone.APPROVAL, stage="colour", amount=gbp("600"))
    with pytest.raises(Refused) as refused:
        check_entered(plain_terms(fee=gbp("1000"), instalments=(half, rest)))
    assert sentence_for(refused.value) == (
        "The instalments come to GBP 1100.00, but the fee is GBP 1000. Make them add up to the fee."
    )
    check_entered(plain_terms(fee=gbp("1000"), instalments=(half, replace(rest, amount=gbp("500")))))
    # Two currencies are never added, and amounts without a fee make it up themselves.
    check_entered(plain_terms(fee=gbp("1000"), instalments=(half, replace(rest, amount=Money(Decimal(9), "USD")))))
    check_entered(plain_terms(instalments=(rest,)))


def test_every_currency_is_listed_once():
    assert len(DECIMALS) == sum(len(codes.split()) for codes in _BY_DECIMALS.values())
    assert all(len(code) == 3 and code.isupper() for code in DECIMALS)


@pytest.mark.parametrize(("as_of", "met_on"), [(date(2026, 3, 8), None), (date(2026, 3, 9), date(2026, 3, 9))])
def test_no_instalment_is_met_before_the_day_it_counts_as_received_on(as_of, met_on):
    """Handed in on Friday 6 March at six, after the hour: received on Monday the 9th."""
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06", 18))
    terms = history(**FIELDS, cut_off=time(17), late_receipt="next-working-day")
    story, receipts = tell(book.entries, book.spreads), Receipts(terms)
    turns = all_turns(story, receipts, as_of)
    found = account(story, terms, turns, count_under(story, receipts, as_of).rounds, as_of)
    assert found.instalments[1].met_on == met_on
    assert found.fallen_due == {"GBP": Decimal("666.60" if met_on else "333.30")}
    assert found.cancellation.kill_fee == gbp("500.00" if met_on else "250.00")


def test_rounds_beyond_and_outside_the_fee_cost_what_the_terms_say():
    book = Ledger(n_spreads=1)
    for month in (4, 5, 6):
        book.hand_in(101, day(f"2026-{month:02}-01"))
        book.letter(day(f"2026-{month:02}-03"), book.ask(101))
    book.hand_in(101, day("2026-07-01"))
    book.letter(day("2026-07-03"), book.approve(101))
    book.letter(day("2026-08-03"), book.ask(101, "text"))
    found = drawn(book)
    assert [extra.round.seq for extra in found.extras] == [7, 10]
    assert found.extra_fees == {"GBP": Decimal("300")}
    by_the_hour = drawn(book, round_fee=None, hour_fee=gbp("40"))
    assert [extra.money for extra in by_the_hour.extras] == [None, None]
    assert by_the_hour.extra_fees == {}


def test_currencies_are_kept_apart():
    dollars = Instalment(name="Overseas", falls=Milestone.START, amount=Money(Decimal("500"), "USD"))
    pounds = Instalment(name="Home", falls=Milestone.START, amount=gbp("400"))
    later = Instalment(name="Later", falls=Milestone.APPROVAL, stage="colour", amount=Money(Decimal("1"), "USD"))
    found = drawn(Ledger(), instalments=(dollars, pounds, later))
    assert found.fallen_due == {"GBP": Decimal("400"), "USD": Decimal("500")}
    assert found.not_yet == {"USD": Decimal("1")}


def test_cancellation_owes_each_spreads_share_at_the_point_it_reached():
    book = Ledger(n_spreads=2)
    assert drawn(book).cancellation.kill_fee == gbp("250.00")
    book.hand_in(101, day("2026-03-06"))
    # One spread at a half, the other at a quarter of its half of the fee.
    stopped = drawn(book).cancellation
    assert stopped.by_spread == {1: gbp("250.00"), 2: gbp("125.00")}
    assert stopped.kill_fee == stopped.owed == gbp("375.00")
    assert stopped.due_already == gbp("333.30")
    # Nothing is told as received yet.
    assert (stopped.paid, stopped.balance) == (gbp("0.00"), gbp("375.00"))


def test_cancellation_never_asks_for_money_back():
    big = Instalment(name="Signature", falls=Milestone.START, share=Decimal(100))
    book = Ledger()
    assert drawn(book, instalments=(big,)).cancellation.owed == gbp("1000.00")
    book.invoice(1, "1000.00", day("2026-03-03"))
    book.received(1, day("2026-03-04"))
    stopped = drawn(book, instalments=(big,)).cancellation
    assert (stopped.kill_fee, stopped.owed, stopped.balance) == (gbp("250.00"), gbp("1000.00"), gbp("0.00"))


def test_without_a_fee_or_steps_nothing_is_said_about_cancellation():
    assert drawn(Ledger(), cancellation=()).cancellation.owed is None
    assert drawn(Ledger(), fee=None, instalments=()).cancellation.owed is None


@pytest.mark.parametrize(
    ("amount", "currency", "expected"),
    [("2.345", "GBP", "2.35"), ("2.345", "JPY", "2"), ("2.5", "JPY", "3"), ("2.3454", "KWD", "2.345")],
)
def test_amounts_are_rounded_to_the_smallest_coin(amount, currency, expected):
    assert rounded(Decimal(amount), currency) == Decimal(expected)


def test_money_is_exact_where_binary_fractions_are_not():
    assert share_of(gbp("1000000000.10"), Decimal("0.1")).amount == Decimal("1000000.00")
    assert in_purse([gbp("0.1")] * 3) == {"GBP": Decimal("0.3")}
