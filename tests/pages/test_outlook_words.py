"""A forecast is told in words that need no statistics."""

from dataclasses import replace
from datetime import date

import pytest

from reviews.pages.wording.outlook import chances, likely_and_safe, points, sources_words, verdict_words
from reviews.rules.forecast.outlook import Outlook, SpreadOutlook, SupposedChange, WhatIf

P50, P80 = date(2027, 5, 3), date(2027, 5, 20)
COVER = SpreadOutlook(
    spread=1, label="Cover", p50_on=P50, p80_on=P80, drawing_days=20.1, planned_days=10.0, waiting_days=0.2
)
PAGES = SpreadOutlook(
    spread=2, label="Pages 4–5", p50_on=P50, p80_on=P80, drawing_days=3.0, planned_days=3.0, waiting_days=0.0
)
OUTLOOK = Outlook(
    today=date(2026, 11, 25),
    p50_on=P50,
    p80_on=P80,
    target_on=date(2027, 5, 28),
    chance=0.68,
    spreads=(COVER, PAGES),
    illustrator_over=47.2,
    publisher_over=1.4,
    n_futures=10_000,
    seed=1,
    n_cases=(9, 0, 4, 2),
)


def told(*what_ifs: WhatIf, outlook: Outlook = OUTLOOK):
    return points(outlook, what_ifs, "the contract date")


def test_both_days_are_said_as_chances():
    assert likely_and_safe(P50, P80) == "as likely as not by 3 May 2027, four chances in five by 20 May 2027"


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.0, "less than 1 chance in 100"),
        (0.004, "less than 1 chance in 100"),
        (0.012, "1 chance in 100"),
        (0.684, "68 chances in 100"),
        (1.0, "more than 99 chances in 100"),
    ],
)
def test_no_chance_is_certain(chance, words):
    assert chances(chance) == words


def test_the_spread_and_the_side_that_cost_most_are_named_with_their_days():
    spread, side = told()
    assert (spread.answer, side.answer) == ("Cover", "The drawing")
    assert "About 10 working days beyond the plan: about 20 working days of drawing where 10 are planned" in spread.why
    assert side.why.startswith("The drawing takes about 47 working days more than planned; for about 1 working day")
    waiting = replace(OUTLOOK, illustrator_over=-3.0, publisher_over=12.0)
    assert told(outlook=waiting)[1].answer == "The publisher’s answers"
    assert "about 3 working days less than planned" in told(outlook=waiting)[1].why


def test_nobody_is_named_where_nothing_is_over():
    calm = replace(OUTLOOK, spreads=(PAGES,), illustrator_over=0.0, publisher_over=0.2)
    spread, side = told(outlook=calm)
    assert (spread.answer, side.answer) == ("None", "Neither")


def test_a_letter_today_is_told_by_what_it_changes():
    sooner = WhatIf(
        change=SupposedChange.ANSWERED_TODAY,
        p50_on=date(2027, 4, 27),
        p80_on=date(2027, 5, 13),
        p50_days=-6,
        p80_days=-7,
        chance=0.79,
    )
    point = told(sooner)[2]
    assert point.answer == "Up to 7 days earlier"
    assert point.why == (
        "As likely as not by 27 April 2027, four chances in five by 13 May 2027. "
        "The contract date then has 79 chances in 100 instead of 68 chances in 100."
    )


def test_a_change_that_moves_both_days_alike_is_one_figure():
    moved = WhatIf(
        change=SupposedChange.PUBLISHER_IN_TIME, p50_on=P50, p80_on=P80, p50_days=-1, p80_days=-1, chance=0.68
    )
    assert told(moved)[2].answer == "1 day earlier"
    moved = WhatIf(change=SupposedChange.PUBLISHER_IN_TIME, p50_on=P50, p80_on=P80, p50_days=3, p80_days=3, chance=0.68)
    assert told(moved)[2].answer == "3 days later"


def test_where_only_the_chance_changes_that_is_said():
    point = told(
        WhatIf(
            change=SupposedChange.ANSWERED_TODAY,
            p50_on=P50,
            p80_on=P80,
            p50_days=0,
            p80_days=0,
            chance=0.70,
            n_waiting=5,
        )
    )[2]
    assert point.answer == "Both days stay where they are"
    assert point.why == "The contract date then has 70 chances in 100 instead of 68 chances in 100."


def test_what_it_was_drawn_from_is_said():
    assert sources_words(OUTLOOK) == (
        "First versions: 9 past cases of this book. Redone versions: estimates, for want of past cases. Answers: 4 "
        "past cases of this book. Rounds: 2 past cases of this book. Where there are no past cases, the estimate is "
        "this portal’s own, and neither side’s."
    )


@pytest.mark.parametrize(
    ("change", "question", "why"),
    [
        (
            SupposedChange.PUBLISHER_IN_TIME,
            "If the publisher keeps to the terms",
            "The answers come on time already, or there is enough else to draw meanwhile.",
        ),
        (
            SupposedChange.ILLUSTRATOR_IN_TIME,
            "If the illustrator keeps to the terms",
            "The drawing keeps to its days already.",
        ),
    ],
)
def test_a_side_that_keeps_to_the_terms_already_is_said_to(change, question, why):
    point = told(WhatIf(change=change, p50_on=P50, p80_on=P80, p50_days=0, p80_days=0, chance=0.68))[2]
    assert (point.question, point.answer, point.why) == (question, "Nothing changes", why)


@pytest.mark.parametrize(
    ("n_waiting", "why"),
    [
        (0, "No spread waits for an answer today."),
        (1, "1 spread waits for its answer, but there is enough else to draw meanwhile."),
        (5, "5 spreads wait for their answers, but there is enough else to draw meanwhile."),
    ],
)
def test_where_nothing_changes_the_reason_is_said(n_waiting, why):
    point = told(
        WhatIf(
            change=SupposedChange.ANSWERED_TODAY,
            p50_on=P50,
            p80_on=P80,
            p50_days=0,
            p80_days=0,
            chance=0.68,
            n_waiting=n_waiting,
        )
    )[2]
    assert (point.question, point.answer, point.why) == ("If the letter goes today", "Nothing changes", why)


def _supposed(change: SupposedChange) -> WhatIf:
    return WhatIf(change=change, p50_on=P50, p80_on=P80, p50_days=-3, p80_days=-3, chance=0.8)


EVERY = tuple(_supposed(change) for change in SupposedChange)


def test_there_is_no_verdict_before_there_are_past_cases():
    new = replace(OUTLOOK, n_cases=(0, 0, 0, 0))
    assert told(*EVERY, outlook=new) == ()
    assert "no chance of keeping a date is given" in verdict_words(new)
    assert verdict_words(OUTLOOK) == ""


@pytest.mark.parametrize("n_cases", [(9, 3, 0, 2), (0, 0, 4, 2)])
def test_an_estimate_of_one_side_is_no_case_against_it(n_cases):
    asked = {point.question for point in told(*EVERY, outlook=replace(OUTLOOK, n_cases=n_cases))}
    assert not asked & {"The spread that costs most", "The side that costs most"}


def test_the_pages_of_illustrator_and_agent_argue_for_neither_side():
    asked = [point.question for point in points(OUTLOOK, EVERY, "the contract date", both_sides=True)]
    assert asked == [
        "The spread that costs most",
        "If the publisher keeps to the terms",
        "If the illustrator keeps to the terms",
    ]
    one = (_supposed(SupposedChange.PUBLISHER_IN_TIME),)
    alone = [point.question for point in points(OUTLOOK, one, "the contract date", both_sides=True)]
    assert alone == ["The spread that costs most"], "one side's change is not told without the other's"
