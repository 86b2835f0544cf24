"""Clauses about rounds, each with a book counted by hand: whose rounds a number is, and what is outside the fee.

A round as one consolidated letter on a whole delivery is how guides on freelance contracts define it, and new work
after the sketches were approved is charged for in public terms of working illustrators; the books here are made up.
"""

from datetime import UTC, date, datetime, time
from decimal import Decimal

import pytest

from reviews.pages.wording.terms import change_words, rule_lines
from reviews.rules.contract.letter_cost import PlannedAsk, cost_of_letter
from reviews.rules.contract.recount import figures
from reviews.rules.contract.rounds import RoundStanding
from reviews.rules.contract.rounds_used import GroupKey
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import COVER, Money, RoundGroup, RoundsPer, StageDays, TermsHistory, check_terms
from reviews.rules.contract.terms_text import terms_from_text, terms_to_text
from reviews.rules.contract.timeline import SpreadFacts, tell
from reviews.rules.states import Cause, Refused
from tests.rules.ledgers import Ledger, day, plain_terms

FEE = Money(Decimal("150"), "GBP")
LATER = date(2027, 1, 1)
IN_FEE, OVER, OUTSIDE = RoundStanding.IN_FEE, RoundStanding.OVER, RoundStanding.OUTSIDE


def shared(per, rounds=2, **changes):
    """Rounds of the book for the sketch, as many for each spread in colour."""
    groups = (RoundGroup("sketch", ("sketch",), rounds, per=per), RoundGroup("colour", ("colour",), 2))
    return plain_terms(groups=groups, round_fee=FEE, **changes)


def dummy(n_letters, n_spreads=3, answers=lambda book: [book.ask(101), book.ask(201), book.ask(301)]):
    """Hand the sketches of a whole book in, and have one letter about all of them, so many times."""
    book = Ledger(n_spreads)
    for month in range(3, 3 + n_letters):
        for spread in range(1, n_spreads + 1):
            book.hand_in(book.passage(spread, 0), day(f"2026-{month:02}-05"))
        book.letter(day(f"2026-{month:02}-09"), *answers(book))
    return book


def drawn_up(book, *versions, as_of=LATER):
    return draw_up(book.entries, TermsHistory(versions), as_of, book.spreads)


def test_one_letter_on_a_whole_dummy_is_one_round_where_rounds_are_by_delivery():
    found = drawn_up(dummy(2), shared(RoundsPer.DELIVERY)).rounds
    pool = found.groups[GroupKey(0, "sketch")]
    # Two letters about three spreads each: two rounds, both in the fee, none left.
    assert (pool.in_fee, pool.over, pool.included, pool.left) == (2, 0, 2, 0)
    assert [found.passages[passage].used for passage in (101, 201, 301)] == [2, 2, 2]
    assert (found.book.used, found.stages["sketch"].used) == (2, 2)
    # Counted for each spread the same letters were six; the whole book includes 2, and 2 for each colour.
    assert found.book.included == 2 + 3 * 2
    by_spread = drawn_up(dummy(2), shared(RoundsPer.SPREAD)).rounds
    assert (by_spread.book.used, by_spread.book.included) == (6, 3 * 2 + 3 * 2)


def test_the_third_letter_on_a_delivery_is_beyond_the_fee_once_and_paid_once():
    statement = drawn_up(dummy(3), shared(RoundsPer.DELIVERY))
    assert (statement.rounds.book.in_fee, statement.rounds.book.over) == (2, 1)
    assert [one.standing for one in statement.rounds.rounds] == [IN_FEE] * 6 + [OVER] * 3
    assert statement.money.extra_fees == {"GBP": Decimal(150)}


def test_a_stray_note_in_a_second_letter_opens_the_next_round():
    book = dummy(1, answers=lambda book: [book.ask(101), book.ask(201), book.approve(301)])
    book.hand_in(101, day("2026-03-16"))
    book.letter(day("2026-03-18"), book.ask(101))
    pool = drawn_up(book, shared(RoundsPer.DELIVERY)).rounds.groups[GroupKey(0, "sketch")]
    assert (pool.in_fee, pool.left) == (2, 0)


def test_what_was_approved_is_outside_for_each_spread_though_the_letter_is_one_round():
    book = dummy(1, answers=lambda book: [book.ask(101), book.approve(201), book.approve(301)])
    book.hand_in(101, day("2026-03-16"))
    book.letter(day("2026-03-18"), book.ask(101), book.ask(201, "text"), book.ask(301, "text"))
    statement = drawn_up(book, shared(RoundsPer.DELIVERY))
    assert (statement.rounds.book.in_fee, statement.rounds.book.outside) == (2, 2)
    assert statement.money.extra_fees == {"GBP": Decimal(300)}


def test_rounds_of_the_whole_book_are_used_up_by_every_spread_that_is_asked_to_change():
    found = drawn_up(dummy(2), shared(RoundsPer.BOOK, 4)).rounds
    # Three spreads in March and three in April: four are in the fee, the last two beyond it.
    assert [one.standing for one in found.rounds] == [IN_FEE] * 4 + [OVER] * 2
    pool = found.groups[GroupKey(0, "sketch")]
    assert (pool.in_fee, pool.over, pool.included, pool.left) == (4, 2, 4, 0)
    assert found.book.included == 4 + 3 * 2


def test_the_cover_keeps_rounds_of_its_own_beside_those_of_the_book():
    book = dummy(2)
    book.spreads[1] = SpreadFacts(1, 1, "Cover", COVER)
    terms = plain_terms(
        stages=(StageDays("sketch", 5, 3), StageDays("colour", 5, 3)),
        groups=(
            RoundGroup("sketch", ("sketch",), 1, per=RoundsPer.DELIVERY),
            RoundGroup("sketch", ("sketch",), 2, COVER),
            RoundGroup("colour", ("colour",), 2),
        ),
    )
    found = drawn_up(book, terms).rounds
    assert [(one.passage, one.standing) for one in found.rounds] == [
        (101, IN_FEE), (201, IN_FEE), (301, IN_FEE), (101, IN_FEE), (201, OVER), (301, OVER),
    ]  # fmt: skip
    assert found.groups[GroupKey(1, "sketch")].in_fee == 2
    assert found.groups[GroupKey(0, "sketch")].over == 1


def test_an_amendment_to_rounds_by_delivery_counts_the_letters_before_it_as_letters():
    later = shared(RoundsPer.DELIVERY, version=2, from_on=date(2026, 3, 20))
    pool = drawn_up(dummy(1), shared(RoundsPer.SPREAD), later).rounds.groups[GroupKey(0, "sketch")]
    assert (pool.included, pool.left) == (2, 1)


@pytest.mark.parametrize(
    ("per", "before", "told", "fees"),
    [
        (RoundsPer.DELIVERY, 1, [(IN_FEE, 2, 2)] * 3, {}),
        (RoundsPer.DELIVERY, 2, [(OVER, 3, 2)] * 3, {"GBP": Decimal(150)}),
        (RoundsPer.BOOK, 1, [(OVER, 4, 2), (OVER, 5, 2), (OVER, 6, 2)], {"GBP": Decimal(450)}),
    ],
)
def test_what_a_letter_would_cost_is_what_the_statement_then_counts(per, before, told, fees):
    book = dummy(before)
    for passage in (101, 201, 301):
        book.hand_in(passage, day("2026-11-05"))
    today = date(2026, 11, 9)
    statement = drawn_up(book, shared(per), as_of=today)
    asks = [PlannedAsk(passage, (Cause.DIRECTION,)) for passage in (101, 201, 301)]
    at = datetime.combine(today, time(12), UTC)
    cost = cost_of_letter(tell(book.entries, book.spreads), statement, asks, at)
    assert [(ask.standing, ask.number, ask.included) for ask in cost.asks] == told
    assert cost.fees == fees
    paid_before = statement.money.extra_fees.get("GBP", 0)
    book.letter(at, *(book.ask(passage) for passage in (101, 201, 301)))
    after = drawn_up(book, shared(per), as_of=today)
    assert after.money.extra_fees.get("GBP", 0) - paid_before == fees.get("GBP", 0)
    assert [one.standing for one in after.rounds.rounds][-3:] == [standing for standing, *_ in told]


def in_colour(*causes):
    """Approve the sketch of one spread at once, then ask for a change of its colour."""
    book = Ledger(1)
    book.hand_in(101, day("2026-03-05"))
    book.letter(day("2026-03-09"), book.approve(101))
    book.hand_in(102, day("2026-03-16"))
    book.letter(day("2026-03-18"), book.ask(102, *causes))
    return book


@pytest.mark.parametrize(
    ("causes", "standing"),
    [
        (("direction",), OUTSIDE),
        (("text",), OUTSIDE),
        (("brief", "text"), OUTSIDE),
        (("brief",), IN_FEE),
        (("question", "brief"), IN_FEE),
    ],
)
def test_new_work_after_the_sketch_was_approved_is_outside_the_fee_in_colour_too(causes, standing):
    terms = plain_terms(new_work_after="sketch", round_fee=FEE)
    statement = drawn_up(in_colour(*causes), terms)
    assert [one.standing for one in statement.rounds.rounds] == [standing]
    assert statement.money.extra_fees == ({"GBP": Decimal(150)} if standing == OUTSIDE else {})
    assert statement.rounds.passages[102].left == (2 if standing == OUTSIDE else 1)


def test_without_that_clause_the_same_change_is_a_round_of_the_fee():
    assert drawn_up(in_colour("text"), plain_terms()).rounds.rounds[0].standing == IN_FEE


def test_the_approval_of_one_spread_settles_no_other():
    two = Ledger(2)
    two.hand_in(101, day("2026-03-05"))
    two.letter(day("2026-03-09"), two.approve(101))
    two.hand_in(201, day("2026-03-10"))
    two.letter(day("2026-03-12"), two.ask(201, "direction"))
    found = drawn_up(two, plain_terms(new_work_after="sketch")).rounds
    assert [(one.passage, one.standing) for one in found.rounds] == [(201, IN_FEE)]


def test_what_was_asked_before_the_sketch_was_approved_stays_a_round():
    book = Ledger(1)
    book.hand_in(101, day("2026-03-05"))
    book.letter(day("2026-03-09"), book.ask(101, "text"))
    book.hand_in(101, day("2026-03-16"))
    book.letter(day("2026-03-18"), book.approve(101))
    found = drawn_up(book, plain_terms(new_work_after="sketch")).rounds
    assert [one.standing for one in found.rounds] == [IN_FEE]


def test_the_letter_says_before_it_goes_that_new_work_is_outside_the_fee():
    book = Ledger(1)
    book.hand_in(101, day("2026-03-05"))
    book.letter(day("2026-03-09"), book.approve(101))
    book.hand_in(102, day("2026-03-16"))
    terms, today = plain_terms(new_work_after="sketch", round_fee=FEE), date(2026, 3, 18)
    for cause, standing in ((Cause.TEXT, OUTSIDE), (Cause.BRIEF, IN_FEE)):
        statement = drawn_up(book, terms, as_of=today)
        at = datetime.combine(today, time(12), UTC)
        [told] = cost_of_letter(tell(book.entries, book.spreads), statement, [PlannedAsk(102, (cause,))], at).asks
        assert told.standing == standing


def test_the_clauses_are_said_and_recounted():
    plain, terms = plain_terms(), shared(RoundsPer.DELIVERY, new_work_after="sketch")
    assert rule_lines(terms)["a new direction or a changed text"] == (
        "is outside the fee once the sketch stage is approved, at every later stage of that spread too"
    )
    assert (
        "rounds for sketch: 2 (sketch), for the whole book; one letter is one round, however many spreads it is about, "
        "was 2 (sketch)"
    ) in change_words(plain, terms)
    assert terms_from_text(terms_to_text(terms)) == terms
    lines = figures(drawn_up(dummy(3), terms))["rounds_by_group"]
    assert {line["group"]: (line["spread"], line["used"], line["over"]) for line in lines}["sketch"] == (0, 2, 1)


def test_terms_of_before_read_as_rounds_for_each_spread():
    text = terms_to_text(plain_terms())
    del text["new_work_after"]
    for group in text["groups"]:
        del group["per"]
    assert terms_from_text(text) == plain_terms()


@pytest.mark.parametrize(
    ("terms", "code"),
    [
        (shared(RoundsPer.SPREAD, 21), "negative-rounds"),
        (shared(RoundsPer.BOOK, 101), "negative-rounds"),
        (plain_terms(new_work_after="ink"), "new-work-without-days"),
        (plain_terms(new_work_after="dreams"), "unknown-stage"),
    ],
)
def test_clauses_that_cannot_be_counted_are_refused(terms, code):
    with pytest.raises(Refused) as refused:
        check_terms(terms)
    assert refused.value.code == code
    check_terms(shared(RoundsPer.BOOK, 100))
