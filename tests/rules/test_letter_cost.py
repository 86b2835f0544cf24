from dataclasses import replace
from datetime import UTC, date, datetime, time
from decimal import Decimal

import pytest

from reviews.pages.wording.letter_cost import cost_lines, late_words, round_words
from reviews.pages.wording.refusals import sentence_for
from reviews.rules.contract.letter_cost import PlannedAsk, check_over, cost_of_letter
from reviews.rules.contract.letter_cost_text import ToldCost, told_read, told_text
from reviews.rules.contract.rounds import RoundStanding
from reviews.rules.contract.statement import draw_up
from reviews.rules.contract.terms import Money, RoundGroup, WhenOver
from reviews.rules.contract.timeline import tell
from reviews.rules.states import Cause, Refused
from tests.rules.ledgers import Ledger, day, history, plain_terms

FEE = Money(Decimal("150"), "GBP")


def cost(book, *asks, today=date(2026, 12, 1), **terms):
    statement = draw_up(book.entries, history(round_fee=FEE, **terms), today, book.spreads)
    at = datetime.combine(today, time(12), UTC)
    return cost_of_letter(tell(book.entries, book.spreads), statement, [PlannedAsk(p, (c,)) for p, c in asks], at)


def asked(n):
    book = Ledger()
    for month in range(n):
        book.hand_in(101, day(f"2026-{month + 3:02}-10"))
        book.letter(day(f"2026-{month + 3:02}-12"), book.ask(101))
    book.hand_in(101, day("2026-11-26"))
    return book


@pytest.mark.parametrize(
    ("before", "standing", "money", "words"),
    [
        (0, RoundStanding.IN_FEE, None, "round 1 of the 2 in the fee"),
        (1, RoundStanding.IN_FEE, None, "round 2 of the 2 in the fee"),
        (2, RoundStanding.OVER, FEE, "round 3; the fee covers 2"),
        (3, RoundStanding.OVER, FEE, "round 4; the fee covers 2"),
    ],
)
def test_the_number_of_the_round_and_its_price(before, standing, money, words):
    [told] = cost(asked(before), (101, Cause.DIRECTION)).asks
    assert (told.standing, told.number, told.included, told.money) == (standing, before + 1, 2, money)
    assert (told.where, round_words(told)) == ("Opening 1, sketch", words)


def test_what_was_reopened_stays_outside_the_fee_before_the_next_letter_too():
    book = Ledger()
    book.hand_in(101, day("2026-03-10"))
    book.letter(day("2026-03-12"), book.approve(101))
    book.letter(day("2026-10-12"), book.ask(101, "text"))
    book.hand_in(101, day("2026-11-26"))
    [told] = cost(book, (101, Cause.DIRECTION)).asks
    assert (told.standing, told.money, round_words(told)) == (
        RoundStanding.OUTSIDE, FEE, "outside the fee: it changes what was approved",
    )  # fmt: skip


def test_where_the_fee_covers_no_round_it_says_so():
    [told] = cost(asked(0), (101, Cause.DIRECTION), groups=(RoundGroup("all", ("sketch",), 0),)).asks
    assert (told.standing, round_words(told)) == (RoundStanding.OVER, "round 1; the fee covers none")


def test_a_round_agreed_after_others_went_beyond_the_fee_is_not_counted_past_it():
    first = plain_terms(groups=(RoundGroup("sketches", ("sketch",), 1),))
    more = replace(first, version=2, from_on=date(2026, 11, 1), groups=(RoundGroup("sketches", ("sketch",), 2),))
    book, today = asked(2), date(2026, 12, 1)
    story, statement = (
        tell(book.entries, book.spreads),
        draw_up(book.entries, history(first, more), today, book.spreads),
    )
    [told] = cost_of_letter(
        story, statement, [PlannedAsk(101, (Cause.DIRECTION,))], datetime.combine(today, time(12), UTC)
    ).asks
    assert (told.standing, told.number, told.included) == (RoundStanding.IN_FEE, 3, 2)
    assert round_words(told) == "round 3; the fee covers it since the terms were amended"


def test_what_the_letter_would_cost_is_what_it_does_cost():
    book = asked(2)
    told = cost(book, (101, Cause.DIRECTION))
    book.letter(day("2026-12-01"), book.ask(101, "direction"))
    statement = draw_up(book.entries, history(round_fee=FEE), date(2026, 12, 1), book.spreads)
    assert statement.rounds.rounds[-1].standing == told.asks[0].standing
    assert statement.money.extra_fees == told.fees == {"GBP": Decimal("150")}


def test_asks_that_share_rounds_use_them_up_in_order():
    book = Ledger(n_spreads=1)
    for passage in (101, 102):
        book.state[passage] = "drawing"
        book.add(day("2026-03-03"), "lay-out", ("art_director", "C"), None, opens=[passage])
        book.hand_in(passage, day("2026-03-04"))
    told = cost(book, (101, Cause.DIRECTION), (102, Cause.TEXT), groups=(RoundGroup("all", ("sketch", "colour"), 1),))
    assert [(ask.standing, ask.number) for ask in told.asks] == [(RoundStanding.IN_FEE, 1), (RoundStanding.OVER, 2)]


def test_a_brief_that_was_missed_is_free_where_the_terms_say_so():
    [told] = cost(asked(2), (101, Cause.BRIEF), brief_counts=False).asks
    assert (told.standing, told.money) == (RoundStanding.NOT_COUNTED, None)


def test_a_change_to_what_was_approved_is_priced():
    book = asked(0)
    book.letter(day("2026-11-27"), book.approve(101))
    told = cost(book, (101, Cause.TEXT))
    assert told.asks[0].standing == RoundStanding.OUTSIDE
    assert told.fees == {"GBP": Decimal("150")}
    assert told.asks[0].days_late is None and late_words(told.asks[0]) == "none was due"


def test_an_answer_in_time_is_told_from_one_that_was_not_due_in_old_entries_too():
    [in_time] = cost(asked(0), (101, Cause.DIRECTION), today=date(2026, 11, 30)).asks
    assert in_time.days_late == 0 and late_words(in_time) == "on time"
    book = asked(0)
    book.letter(day("2026-11-27"), book.approve(101))
    told = ToldCost(cost=cost(book, (101, Cause.TEXT)), terms=1, moves_dates=False, counts_later=False)
    text = told_text(told)
    assert told_read(text) == told and told.days_late == 0
    del text["asks"][0]["answer_due"]
    assert told_read(text) == told
    text["asks"][0]["days_late"] = 0  # as the oldest entries were written
    old = told_read(text)
    assert old.cost.asks[0].days_late is None and late_words(old.cost.asks[0]) == "not recorded"
    assert told_read(told_text(old)).cost.asks == old.cost.asks


def test_a_change_outside_the_rounds_that_was_answered_in_time_is_read_back_as_on_time():
    told = ToldCost(
        cost=cost(asked(0), (101, Cause.DIRECTION), today=date(2026, 11, 30)), terms=1, moves_dates=False,
        counts_later=False,
    )  # fmt: skip
    outside = replace(told, cost=replace(told.cost, asks=(replace(told.cost.asks[0], standing=RoundStanding.OUTSIDE),)))
    read = told_read(told_text(outside))
    assert read == outside and read.cost.asks[0].days_late == 0
    assert late_words(read.cost.asks[0]) == late_words(outside.cost.asks[0]) == "on time"
    assert "answered on time" in cost_lines(read)[0] and "answered on time" in cost_lines(outside)[0]
    old = told_text(outside)
    del old["asks"][0]["answer_due"]
    said = " ".join([late_words(told_read(old).cost.asks[0]), *cost_lines(told_read(old))])
    assert "on time" not in said and "none was due" not in said


def test_a_fee_by_the_hour_is_said_not_to_be_priced():
    book = asked(2)
    statement = draw_up(book.entries, history(), date(2026, 12, 1), book.spreads)
    told = cost_of_letter(tell(book.entries), statement, [PlannedAsk(101, (Cause.DIRECTION,))], day("2026-12-01"))
    assert not told.is_priced and told.fees == {}


def test_days_late_and_the_next_date_are_told():
    # Handed in on Thursday 26 November; three days to answer end on Tuesday 1 December.
    [told] = cost(asked(0), (101, Cause.DIRECTION), today=date(2026, 12, 3)).asks
    assert (told.days_late, told.due_on) == (2, date(2026, 12, 10))


def test_terms_decide_what_happens_when_a_letter_goes_beyond_the_fee():
    for within in (cost(asked(1), (101, Cause.DIRECTION), when_over=when) for when in WhenOver):
        check_over(within, has_consent=False)
    check_over(cost(asked(2), (101, Cause.DIRECTION)), has_consent=False)
    consent = cost(asked(2), (101, Cause.DIRECTION), when_over=WhenOver.AGENT_CONSENT)
    check_over(consent, has_consent=True)
    with pytest.raises(Refused) as refused:
        check_over(consent, has_consent=False)
    assert "agent’s consent" in sentence_for(refused.value) and "Opening 1, sketch" in sentence_for(refused.value)
    with pytest.raises(Refused) as refused:
        check_over(cost(asked(2), (101, Cause.DIRECTION), when_over=WhenOver.REFUSE), has_consent=True)
    assert "allow no more" in sentence_for(refused.value)
