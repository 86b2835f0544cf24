from dataclasses import replace
from datetime import date, time
from decimal import Decimal

import pytest

from reviews.pages.wording.fees import money_words
from reviews.pages.wording.refusals import sentence_for
from reviews.pages.wording.term_sets import READY_SET_NAMES, READY_SET_WORDS
from reviews.rules.contract.instalments import amounts_of
from reviews.rules.contract.term_sets import READY_SETS
from reviews.rules.contract.terms import (
    COVER,
    CancellationStep,
    Instalment,
    Milestone,
    Money,
    RoundGroup,
    StageDays,
    TermsHistory,
    WhenOver,
    check_terms,
)
from reviews.rules.contract.terms_text import history_from_text, terms_from_text, terms_to_text
from reviews.rules.states import Refused
from tests.rules.ledgers import plain_terms

GBP = Money(Decimal("900.00"), "GBP")
ALL = Instalment(name="All", falls=Milestone.START, share=Decimal(100))

BAD = [
    ({"stages": ()}, "terms-without-stages"),
    ({"stages": (StageDays("sketch", -1, 3), StageDays("colour", 5, 3))}, "negative-days-hand-in"),
    ({"stages": (StageDays("sketch", 5, 401), StageDays("colour", 5, 3))}, "negative-days-answer"),
    ({"stages": (StageDays("sketch", 5, 3), StageDays("sketch", 6, 3))}, "terms-stage-twice"),
    ({"stages": (StageDays("varnish", 5, 3),)}, "unknown-stage"),
    ({"groups": (RoundGroup("sketches", (), 2),)}, "group-without-stages"),
    ({"groups": (RoundGroup("sketches", ("sketch",), -1),)}, "negative-rounds"),
    ({"groups": (RoundGroup("a", ("sketch",), 1), RoundGroup("b", ("sketch", "colour"), 1))}, "stage-in-two-groups"),
    ({"groups": (RoundGroup("a", ("proof",), 1),)}, "group-without-days"),
    ({"places": ("ATLANTIS",)}, "unknown-place"),
    ({"places": ("GB-ENG", "US", "FR")}, "too-many-places"),
    ({"zone": "Europe/Nowhere"}, "unknown-zone"),
    ({"zone": "../etc/passwd"}, "unknown-zone"),
    ({"fee": Money(Decimal(1), "pounds")}, "bad-currency"),
    ({"fee": Money(Decimal(-1), "GBP")}, "bad-amount"),
    ({"round_fee": Money(Decimal("NaN"), "GBP")}, "bad-amount"),
    ({"fee": Money(Decimal("1E+30"), "GBP")}, "too-much-money"),
    ({"hour_fee": Money(Decimal("10000000000"), "GBP")}, "too-much-money"),
    ({"instalments": (replace(ALL, share=None, amount=Money(Decimal("1E+400"), "GBP")),)}, "too-much-money"),
    ({"round_fee": Money(Decimal("1E-30"), "GBP")}, "bad-amount"),
    ({"fee": Money(Decimal("12.505"), "GBP")}, "bad-amount"),
    ({"instalments": (ALL,)}, "fee-missing"),
    ({"fee": GBP, "instalments": (replace(ALL, share=Decimal(90)),)}, "shares-not-whole"),
    ({"fee": GBP, "instalments": (replace(ALL, share=Decimal(101)),)}, "bad-share-instalment"),
    ({"fee": GBP, "instalments": (replace(ALL, share=None),)}, "instalment-needs-money"),
    ({"fee": GBP, "instalments": (replace(ALL, falls=Milestone.DATE),)}, "instalment-needs-date"),
    ({"fee": GBP, "instalments": (replace(ALL, falls=Milestone.HAND_IN),)}, "instalment-needs-stage"),
    ({"fee": GBP, "instalments": (replace(ALL, pay_within_days=-3),)}, "negative-days-pay"),
    ({"cancellation": (CancellationStep(Milestone.HAND_IN, Decimal(50)),)}, "cancellation-needs-stage"),
    (
        {
            "cancellation": (
                CancellationStep(Milestone.START, Decimal(50)),
                CancellationStep(Milestone.HAND_IN, Decimal(25), "sketch"),
            )
        },
        "cancellation-falls",
    ),
    ({"silence_approves_after": 2}, "silence-too-short"),
]


@pytest.mark.parametrize(("change", "code"), BAD, ids=[f"{n}-{code}" for n, (_, code) in enumerate(BAD)])
def test_bad_terms_are_refused_with_a_sentence(change, code):
    with pytest.raises(Refused) as refused:
        check_terms(plain_terms(**change))
    assert refused.value.code == code
    sentence = sentence_for(refused.value)
    assert "{" not in sentence and sentence.endswith(".")


def test_good_terms_pass():
    check_terms(plain_terms(fee=GBP, instalments=(ALL,), places=("GB-ENG", "US"), silence_approves_after=3))


def test_the_most_money_that_can_be_named_is_counted_to_the_penny():
    most = Money(Decimal("9999999999.99"), "GBP")
    terms = plain_terms(fee=most, round_fee=Money(Decimal("12.500"), "GBP"), instalments=(ALL,))
    check_terms(terms)
    assert amounts_of(terms) == [most]
    assert money_words(most) == "GBP 9,999,999,999.99"
    assert money_words(Money(Decimal("1E+5"), "GBP")) == "GBP 100,000"


@pytest.mark.parametrize("code", sorted(READY_SETS))
def test_ready_sets_can_be_kept_and_say_what_they_are(code):
    ready = READY_SETS[code]
    check_terms(ready.terms)
    assert "Common practice, not law" in str(READY_SET_WORDS[code])
    assert READY_SET_NAMES[code]


@pytest.mark.parametrize("code", sorted(READY_SETS))
def test_terms_survive_the_way_through_text(code):
    terms = READY_SETS[code].terms
    assert terms_from_text(terms_to_text(terms)) == terms


def test_every_field_survives_the_way_through_text():
    terms = plain_terms(
        shut=(date(2026, 12, 29),),
        cut_off=time(16, 30),
        late_receipt="next-working-day",
        counts_receipt=True,
        silence_approves_after=20,
        when_over=WhenOver.AGENT_CONSENT,
        hour_fee=Money(Decimal("60"), "EUR"),
        instalments=(
            Instalment(name="Fixed", falls=Milestone.DATE, on=date(2026, 5, 1), amount=GBP, pay_within_days=14),
        ),
    )
    text = terms_to_text(terms)
    # Pauses are agreed on since, and no clause.
    assert set(text) == set(terms.__dataclass_fields__) - {"pauses"}
    assert terms_from_text(text) == terms


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("from_on", "soon"),
        ("stages", None),
        ("stages", [{"stage": "sketch", "hand_in_days": "5", "answer_days": 3}]),
        ("stages", [{"stage": "sketch"}]),
        ("brief_counts", "no"),
        ("when_over", "shrug"),
        ("late_receipt", "whenever"),
        ("fee", {"amount": 12.5, "currency": "GBP"}),
        ("fee", {"amount": "twelve", "currency": "GBP"}),
        ("version", True),
    ],
)
def test_terms_that_cannot_be_read_are_refused(key, value):
    with pytest.raises(Refused) as refused:
        terms_from_text(terms_to_text(plain_terms()) | {key: value})
    assert refused.value.code == ("bad-terms-missing" if value == [{"stage": "sketch"}] else "bad-terms")
    assert sentence_for(refused.value)


def test_terms_without_a_key_say_which_is_missing():
    text = terms_to_text(plain_terms())
    del text["zone"]
    with pytest.raises(Refused) as refused:
        terms_from_text(text)
    assert "zone" in sentence_for(refused.value)


def test_no_versions_are_refused():
    with pytest.raises(Refused):
        history_from_text([])


FIRST = plain_terms()
SECOND = plain_terms(version=2, from_on=date(2026, 6, 1), brief_counts=False)


def test_each_day_has_the_version_that_held_on_it():
    both = TermsHistory((FIRST, SECOND))
    assert both.on(date(2025, 1, 1)) is FIRST
    assert both.on(date(2026, 5, 31)) is FIRST
    assert both.on(date(2026, 6, 1)) is SECOND


def test_a_past_day_does_not_know_of_later_amendments():
    both = TermsHistory((FIRST, SECOND))
    assert both.known_on(date(2026, 5, 31)).versions == (FIRST,)
    assert both.known_on(date(2026, 6, 1)) == both


def test_an_amendment_gets_the_next_number():
    amended = TermsHistory((FIRST,)).amended(replace(SECOND, version=99), date(2026, 5, 1))
    assert [version.version for version in amended.versions] == [1, 2]
    assert amended.versions[0] == FIRST


@pytest.mark.parametrize(
    ("terms", "today", "code"),
    [
        (SECOND, date(2026, 6, 2), "amendment-in-past"),
        (replace(FIRST, from_on=date(2026, 7, 1)), date(2026, 6, 2), "amendment-same"),
        (replace(SECOND, stages=()), date(2026, 5, 1), "terms-without-stages"),
    ],
)
def test_an_amendment_that_rewrites_the_past_or_nothing_is_refused(terms, today, code):
    with pytest.raises(Refused) as refused:
        TermsHistory((FIRST,)).amended(terms, today)
    assert refused.value.code == code
    assert sentence_for(refused.value)


def test_an_amendment_before_an_agreed_later_one_is_refused():
    with pytest.raises(Refused) as refused:
        TermsHistory((FIRST, SECOND)).amended(replace(FIRST, from_on=date(2026, 5, 1)), date(2026, 4, 1))
    assert refused.value.code == "amendment-out-of-order"


def test_a_line_for_the_cover_goes_before_a_line_for_every_spread():
    terms = plain_terms(
        stages=(StageDays("sketch", 5, 3), StageDays("sketch", 9, 4, COVER), StageDays("colour", 5, 3)),
        groups=(RoundGroup("sketch", ("sketch",), 2), RoundGroup("cover sketch", ("sketch",), 3, COVER)),
    )
    check_terms(terms)
    assert terms.days_for(COVER, "sketch").hand_in_days == 9
    assert terms.days_for("", "sketch").hand_in_days == 5
    assert terms.group_for(COVER, "sketch").rounds == 3
    assert terms.group_for(COVER, "colour").rounds == 0
    assert terms.days_for("", "ink") is None
