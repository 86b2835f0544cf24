"""Every money clause counted by hand: a puzzle each, with the sum worked out in the comment beside it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from reviews.rules.contract.amounts import Step
from reviews.rules.contract.clauses import clauses_of
from reviews.rules.contract.fees import COVER, INTERIOR, CancellationStep, Instalment, Milestone, Money, Price, PricedBy
from reviews.rules.contract.money import MoneyAccount, check_entered
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import RoundGroup, TermsHistory, check_terms
from reviews.rules.contract.terms_text import terms_from_text, terms_to_text
from reviews.rules.contract.timeline import SpreadFacts
from reviews.rules.states import Refused
from tests.rules.ledgers import Ledger, day, plain_terms

NO_ROUNDS = (RoundGroup("sketch", ("sketch",), 0), RoundGroup("colour", ("colour",), 0))
IN_THE_END = date(2027, 1, 1)


def gbp(amount: str) -> Money:
    return Money(Decimal(amount), "GBP")


def by_round(amount: str, **about) -> Price:
    return Price(by=PricedBy.ROUND, amount=gbp(amount), **about)


def told(book: Ledger, as_of: date = IN_THE_END, **changes) -> MoneyAccount:
    """Count a book's money by terms that went to the ledger and came back as text."""
    terms = plain_terms(**({"fee": gbp("9000.00"), "groups": NO_ROUNDS} | changes))
    terms = terms_from_text(terms_to_text(terms))
    return draw_up(book.entries, TermsHistory((terms,)), as_of, book.spreads).money


def asked(*rounds: tuple[int, ...], n_spreads: int = 3) -> Ledger:
    """Make a book in which each letter asks for changes on these passages, after a hand-in of each."""
    book = Ledger(n_spreads=n_spreads)
    for month, passages in enumerate(rounds, start=3):
        for passage in passages:
            book.hand_in(passage, day(f"2026-{month:02}-03"))
        book.letter(day(f"2026-{month:02}-05"), *(book.ask(passage) for passage in passages))
    return book


def approved(n_spreads: int = 2, stages: tuple[str, ...] = ("sketch", "colour")) -> Ledger:
    """Make a book in which every spread is approved at its first stage on 10 March."""
    book = Ledger(n_spreads=n_spreads, stages=stages)
    for spread in book.spreads:
        book.hand_in(book.passage(spread, 0), day("2026-03-06"))
    book.letter(day("2026-03-10"), *(book.approve(book.passage(spread, 0)) for spread in book.spreads))
    return book


def test_a_price_of_its_own_stage_goes_before_the_price_of_every_stage():
    """Two rounds of sketch at 60 and one of colour at 150: 2 × 60 + 1 × 150 = 270."""
    book = Ledger(n_spreads=1)
    for on in ("2026-03-03", "2026-03-12"):
        book.hand_in(101, day(on))
        book.letter(day(on, hour=15), book.ask(101))
    book.hand_in(101, day("2026-03-20"))
    book.letter(day("2026-03-23"), book.approve(101))
    book.hand_in(102, day("2026-04-01"))
    book.letter(day("2026-04-02"), book.ask(102))
    money = told(book, prices=(by_round("150"), by_round("60", stage="sketch")))
    assert money.extra_owed == {"GBP": Decimal("270")}
    lines = [(line.n, line.each, line.name, line.money) for line in money.extra_working]
    assert lines == [(2, gbp("60"), "sketch", gbp("120")), (1, gbp("150"), "", gbp("150"))]


def test_the_fee_for_a_round_holds_where_no_price_speaks_of_the_stage():
    """One round of sketch by the fee for any round: 80."""
    money = told(asked((101,)), round_fee=gbp("80"), prices=(by_round("200", stage="colour"),))
    assert money.extra_owed == {"GBP": Decimal("80")}


def test_a_price_for_a_letter_is_asked_once_for_it_however_many_spreads_are_in_it():
    """A letter on three spreads and one on two: 2 × 250 = 500, and not 5 × 250."""
    money = told(asked((101, 201, 301), (101, 201)), prices=(Price(by=PricedBy.LETTER, amount=gbp("250")),))
    assert money.extra_owed == {"GBP": Decimal("500")}
    assert [extra.in_letter for extra in money.extras] == [False, True, True, False, True]
    assert [(line.step, line.n) for line in money.extra_working] == [(Step.LETTER, 2)]


def test_a_round_can_cost_a_share_of_the_fee():
    """Three rounds at 1.5 per cent of 9,000: 3 × 135 = 405."""
    money = told(asked((101, 201), (301,)), prices=(Price(by=PricedBy.ROUND, share=Decimal("1.5")),))
    assert money.extra_owed == {"GBP": Decimal("405.00")}


def test_hours_are_totalled_once_both_sides_have_said_them():
    """2.5 and 4 hours agreed at 60: 6.5 × 60 = 390. The third round's 8 hours are told by one side alone."""
    book = asked((101, 201, 301))
    letter = book.entries[-1]
    by_the_hour = (Price(by=PricedBy.HOUR, amount=gbp("60")),)
    assert told(book, prices=by_the_hour).extra_owed == {}
    for passage, hours in ((101, "2.5"), (201, "4"), (301, "8")):
        book.tell_hours(letter, passage, hours, day("2026-03-20"))
    assert told(book, prices=by_the_hour).extra_owed == {}
    for passage, hours in ((101, "2.5"), (201, "4")):
        book.agree_hours(letter, passage, hours, day("2026-03-23"))
    money = told(book, prices=by_the_hour)
    assert money.extra_owed == {"GBP": Decimal("390.00")}
    assert [(line.step, line.n, line.each) for line in money.extra_working] == [(Step.HOUR, Decimal("6.5"), gbp("60"))]
    assert [extra.money for extra in money.extras] == [gbp("150.00"), gbp("240.00"), None]


def test_changes_are_free_up_to_a_share_of_the_fee():
    """Five rounds at 300 are 1,500; 10 per cent of 9,000 are free: 1,500 − 900 = 600. Of one round nothing is owed."""
    prices, free = (by_round("300"),), Decimal(10)
    money = told(asked((101, 201, 301), (101, 201)), prices=prices, free_share=free)
    assert money.extra_fees == {"GBP": Decimal("1500")}
    assert money.free == gbp("900.00")
    assert money.extra_owed == {"GBP": Decimal("600.00")}
    one = told(asked((101,)), prices=prices, free_share=free)
    assert (one.free, one.extra_owed) == (gbp("300.00"), {"GBP": Decimal("0.00")})


def test_a_change_after_approval_has_a_price_of_its_own():
    """Asked after the approval: 400; a round beyond the fee at the next stage: 100."""
    book = approved(n_spreads=1)
    book.hand_in(102, day("2026-03-20"))
    book.letter(day("2026-03-24"), book.ask(101), book.ask(102))
    money = told(book, prices=(by_round("100"), by_round("400", after_approval=True)))
    assert {extra.round.passage: extra.money for extra in money.extras} == {101: gbp("400"), 102: gbp("100")}
    assert money.extra_owed == {"GBP": Decimal("500")}


def test_an_instalment_on_signature_falls_due_on_that_day_and_not_when_work_starts():
    """Signed on 5 February; work starts on Monday 2 March; paid within 30 days: by 7 March, a Saturday, so the 9th."""
    part = Instalment(name="On signature", falls=Milestone.SIGNATURE, share=Decimal(100), pay_within_days=30)
    terms = {"instalments": (part,), "signed_on": date(2026, 2, 5)}
    found = told(Ledger(), **terms).instalments[0]
    assert (found.met_on, found.pay_by_on) == (date(2026, 2, 5), date(2026, 3, 9))
    assert told(Ledger(), as_of=date(2026, 2, 4), **terms).instalments[0].met_on is None


def test_terms_that_pay_on_signature_are_not_entered_without_its_day():
    part = Instalment(name="On signature", falls=Milestone.SIGNATURE, share=Decimal(100))
    terms = plain_terms(fee=gbp("9000"), instalments=(part,))
    check_terms(terms)
    with pytest.raises(Refused, match="signature-needs-date"):
        check_entered(terms)


def test_an_instalment_at_publication_waits_for_a_day_that_both_have_named():
    part = Instalment(name="On publication", falls=Milestone.PUBLICATION, share=Decimal(100))
    assert told(Ledger(), instalments=(part,)).instalments[0].met_on is None
    found = told(Ledger(), instalments=(part,), published_on=date(2026, 10, 1)).instalments[0]
    assert found.met_on == date(2026, 10, 1)


@pytest.mark.parametrize(
    ("part", "of_spreads", "met_on", "n_needed"),
    [
        ("", 100, None, 5),  # the last spread is not in
        (COVER, 100, "2026-03-06", 1),
        (INTERIOR, 100, None, 4),
        (INTERIOR, 50, "2026-03-11", 2),  # the second of four
        ("", 50, "2026-03-11", 3),  # half of five is three, counted up: 6, 9 and 11 March
        ("", 60, "2026-03-11", 3),  # six tenths of five are three
    ],
)
def test_an_instalment_can_wait_for_the_cover_the_interior_or_half_the_book(part, of_spreads, met_on, n_needed):
    """Cover in on 6 March, then three of four openings on the 9th, the 11th and the 16th."""
    book = Ledger(n_spreads=5)
    book.spreads[1] = SpreadFacts(1, 1, "Cover", COVER)
    for passage, on in ((101, "2026-03-06"), (201, "2026-03-09"), (301, "2026-03-11"), (401, "2026-03-16")):
        book.hand_in(passage, day(on))
    share = Instalment(
        name="Sketches", falls=Milestone.HAND_IN, stage="sketch", share=Decimal(100), part=part, of_spreads=of_spreads
    )
    found = told(book, instalments=(share,)).instalments[0]
    assert (found.met_on, found.n_needed) == (date.fromisoformat(met_on) if met_on else None, n_needed)


def test_an_instalment_falls_due_at_the_earlier_of_approval_and_days_after_delivery():
    """In on Friday 6 March, 60 days on is Tuesday 5 May; the first spread is approved on 10 March."""
    book = Ledger(n_spreads=2)
    book.hand_in(101, day("2026-03-06"))
    book.hand_in(201, day("2026-03-06"))
    book.letter(day("2026-03-10"), book.approve(101))
    part = Instalment(name="Roughs", falls=Milestone.APPROVAL, stage="sketch", share=Decimal(100), after_days=60)
    assert told(book, as_of=date(2026, 5, 4), instalments=(part,)).instalments[0].n_reached == 1
    assert told(book, as_of=date(2026, 5, 5), instalments=(part,)).instalments[0].met_on == date(2026, 5, 5)
    book.letter(day("2026-03-12"), book.approve(201))
    assert told(book, instalments=(part,)).instalments[0].met_on == date(2026, 3, 12)
    plain = Instalment(name="Roughs", falls=Milestone.APPROVAL, stage="sketch", share=Decimal(100))
    assert told(Ledger(), instalments=(plain,)).instalments[0].met_on is None


def test_a_balance_is_what_fell_due_less_what_the_illustrators_side_says_came():
    """3,000 fell due and two rounds at 150 are owed: 3,300. The publisher's word alone changes nothing."""
    part = Instalment(name="Start", falls=Milestone.START, amount=gbp("3000.00"))
    rest = Instalment(name="End", falls=Milestone.APPROVAL, stage="colour", amount=gbp("6000.00"))
    terms = {"instalments": (part, rest), "round_fee": gbp("150.00")}
    book = asked((101, 201))
    assert told(book, **terms).balance == {"GBP": Decimal("3300.00")}
    book.invoice(7, "3000.00", day("2026-03-09"), name="Start")
    book.invoice(8, "300.00", day("2026-03-10"))
    book.paid(7, day("2026-03-30"))
    money = told(book, **terms)
    assert (money.invoiced, money.received) == ({"GBP": Decimal("3300.00")}, {})
    assert money.balance == {"GBP": Decimal("3300.00")}
    book.received(7, day("2026-04-01"))
    assert told(book, **terms).balance == {"GBP": Decimal("300.00")}
    assert [line.money.amount for line in told(book, **terms).balance_working] == [3000, 300, -3000]
    # The day before the money came, the statement says what it said then.
    assert told(book, as_of=date(2026, 3, 31), **terms).balance == {"GBP": Decimal("3300.00")}


def test_an_invoice_taken_back_is_no_invoice():
    book = Ledger()
    book.invoice(7, "3000.00", day("2026-03-09"))
    book.add(day("2026-03-10"), "withdraw-invoice", ("agent", "Orla"), None, invoice=7, number="J-7", reason="Twice")
    assert told(book).bills == ()


STEPS = (
    CancellationStep(Milestone.START, Decimal(25)),
    CancellationStep(Milestone.HAND_IN, Decimal(50), "sketch"),
    CancellationStep(Milestone.HAND_IN, Decimal(100), "colour"),
)


def test_a_kill_fee_and_what_fell_due_are_never_told_against_each_other():
    """Every sketch is in: half of 9,000 is 4,500, and two instalments of 2,999.70 and 2,999.70 fell due: 5,999.40.

    Of the fee the larger is owed; with one round at 150 that is 6,149.40, and 2,999.70 came: 3,149.70 are left.
    """
    book = asked((101,), n_spreads=2)
    book.hand_in(201, day("2026-03-03"))
    book.invoice(1, "2999.70", day("2026-03-10"), name="Start")
    book.received(1, day("2026-03-12"))
    parts = (
        Instalment(name="Start", falls=Milestone.START, share=Decimal("33.33")),
        Instalment(name="Sketches", falls=Milestone.HAND_IN, stage="sketch", share=Decimal("33.33")),
        Instalment(name="Colour", falls=Milestone.APPROVAL, stage="colour", share=Decimal("33.34")),
    )
    stopped = told(book, instalments=parts, cancellation=STEPS, round_fee=gbp("150.00")).cancellation
    assert stopped.kill_fee == gbp("4500.00")
    assert stopped.due_already == stopped.of_the_fee == gbp("5999.40")
    assert (stopped.extras, stopped.owed) == (gbp("150.00"), gbp("6149.40"))
    assert (stopped.paid, stopped.balance) == (gbp("2999.70"), gbp("3149.70"))
    assert [(line.n, line.each, line.share, line.money) for line in stopped.kill_working] == [
        (2, gbp("4500.00"), 50, gbp("4500.00"))
    ]


def test_a_kill_fee_counts_each_spread_at_the_point_it_reached():
    """Three spreads, 3,000 each: one sketch in (50 %), two begun (25 %): 1,500 + 2 × 750 = 3,000."""
    book = Ledger(n_spreads=3)
    book.hand_in(101, day("2026-03-06"))
    stopped = told(book, cancellation=STEPS).cancellation
    assert stopped.kill_fee == gbp("3000.00")
    lines = [(line.n, line.each, line.share, line.money) for line in stopped.kill_working]
    assert lines == [(2, gbp("3000.00"), 25, gbp("1500.00")), (1, gbp("3000.00"), 50, gbp("1500.00"))]


@pytest.mark.parametrize(
    ("n_deeds", "share"),
    [
        (0, "25"),
        (1, "50"),  # the sketch is in: a step
        (2, "75"),  # approved: half the way from the sketch's 50 to the colour's 100
        (3, "100"),  # the colour is in: the last step
        (4, "100"),
    ],
)
def test_a_kill_fee_pro_rata_rises_with_each_point_between_two_steps(n_deeds, share):
    """One spread is the whole fee of 9,000, so the share is the share of it."""
    book = Ledger(n_spreads=1)
    deeds = (
        lambda: book.hand_in(101, day("2026-03-06")),
        lambda: book.letter(day("2026-03-10"), book.approve(101)),
        lambda: book.hand_in(102, day("2026-03-20")),
        lambda: book.letter(day("2026-03-24"), book.approve(102)),
    )
    for deed in deeds[:n_deeds]:
        deed()
    pro_rata = told(book, cancellation=STEPS, kill_pro_rata=True).cancellation.kill_fee
    assert pro_rata == gbp(f"{Decimal(share) * 90:.2f}")
    by_step = {0: "25", 1: "50", 2: "50"}.get(n_deeds, "100")
    assert told(book, cancellation=STEPS).cancellation.kill_fee == gbp(f"{Decimal(by_step) * 90:.2f}")


def test_a_rejection_has_steps_of_its_own_and_is_told_only_where_the_terms_have_them():
    """Sketches in: cancelled 50 per cent, rejected 25 per cent of 9,000."""
    book = Ledger(n_spreads=1)
    book.hand_in(101, day("2026-03-06"))
    rejection = (
        CancellationStep(Milestone.START, Decimal(25)),
        CancellationStep(Milestone.HAND_IN, Decimal(60), "colour"),
    )
    money = told(book, cancellation=STEPS, rejection=rejection)
    assert (money.cancellation.kill_fee, money.rejection.kill_fee) == (gbp("4500.00"), gbp("2250.00"))
    assert told(book, cancellation=STEPS).rejection.kill_fee is None


def test_a_recount_names_the_clauses_of_money_that_the_ordinary_contract_does_not_have():
    part = Instalment(name="Half", falls=Milestone.HAND_IN, stage="sketch", share=Decimal(100), of_spreads=50)
    plain = plain_terms(fee=gbp("9000"), instalments=(replace(part, of_spreads=100),), cancellation=STEPS)
    assert clauses_of(plain) == {}
    own = replace(plain, instalments=(part,), prices=(by_round("60"),), free_share=Decimal(10), kill_pro_rata=True)
    assert set(clauses_of(own)) == {"instalments", "prices", "free_share", "kill_pro_rata"}


def test_a_letter_taken_back_counts_no_round_and_costs_nothing():
    book = asked((101, 201))
    prices = (by_round("300"),)
    assert told(book, prices=prices).extra_owed == {"GBP": Decimal("600")}
    book.take_back(book.entries[-1], day("2026-03-06"))
    assert told(book, prices=prices).extra_owed == {}
    assert told(book, as_of=date(2026, 3, 5), prices=prices).extra_owed == {"GBP": Decimal("600")}


def test_an_approval_taken_back_makes_nothing_fall_due():
    book = approved()
    part = Instalment(name="Roughs", falls=Milestone.APPROVAL, stage="sketch", share=Decimal(100))
    assert told(book, instalments=(part,)).instalments[0].met_on == date(2026, 3, 10)
    book.take_back(book.entries[-1], day("2026-03-11"))
    assert told(book, instalments=(part,)).instalments[0].met_on is None
