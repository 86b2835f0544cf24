"""Going beyond the fee with somebody's consent."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.utils import timezone

from reviews.actions import terms
from reviews.models import LedgerEntry, Notice, OverConsent
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.ledger_check import ledger_faults
from reviews.rules.contract.terms import Money, WhenOver
from reviews.rules.states import Refused, Role
from tests.actions.signed import a_round_more, enter
from tests.cast import gather
from tests.letter_scene import a_round, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


class TestConsent:
    """The terms say: beyond the fee the agent consents first."""

    @pytest.fixture
    def passage(self, cast):
        enter(cast, when_over=WhenOver.AGENT_CONSENT)
        passage = cast.passage("Pages 4–5", "ideas")
        a_round(cast, passage, 1)
        a_round_more(cast, passage)
        return passage

    def test_until_the_agent_consents_the_letter_does_not_go(self, cast, passage):
        for step, code in (
            (lambda: None, "over-needs-consent"),
            (lambda: terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director), "over-waits"),
        ):
            step()
            with pytest.raises(Refused) as refused:
                sent(cast, over=True)
            assert refused.value.code == code
        terms.give_consent(passage.pk, actor=cast.agent)
        letter = sent(cast, over=True)
        assert OverConsent.objects.get().used_by == letter

    def test_a_consent_is_used_up_by_one_letter(self, cast, passage):
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        terms.give_consent(passage.pk, actor=cast.agent)
        sent(cast, over=True)
        a_round_more(cast, passage, 10)
        with pytest.raises(Refused) as refused:
            sent(cast, over=True)
        assert refused.value.code == "over-needs-consent"

    def test_consent_to_one_spread_is_none_to_another(self, cast, passage):
        other = cast.passage("Pages 6–7", "ideas")
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        terms.give_consent(passage.pk, actor=cast.agent)
        sent(cast, over=True)
        a_round(cast, other, 11)
        a_round_more(cast, other, 12)
        with pytest.raises(Refused):
            sent(cast, over=True)

    def test_the_agent_is_told_what_is_asked(self, cast, passage):
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        entry = LedgerEntry.objects.get(book=cast.book, deed="ask-consent")
        told = Notice.objects.filter(entry=entry).values_list("person", flat=True)
        assert list(told) == [cast.agent.person_id]

    @pytest.mark.parametrize("words", ["", "  \n "])
    def test_asking_needs_a_reason_in_words(self, cast, passage, words):
        with pytest.raises(Refused) as refused:
            terms.ask_consent(passage.pk, words, actor=cast.art_director)
        assert refused.value.code == "consent-reason"
        assert "Say in a few words why one more round is needed" in sentence_for(refused.value)
        assert not OverConsent.objects.exists()
        assert not LedgerEntry.objects.filter(book=cast.book, deed="ask-consent").exists()

    @pytest.mark.parametrize(
        ("fees", "price"),
        [
            ({}, "GBP 150.00"),
            (
                {"round_fee": None, "hour_fee": Money(Decimal("42.00"), "GBP")},
                "GBP 42.00 an hour, for the hours it takes",
            ),
            ({"round_fee": None}, "no fee is agreed for it"),
        ],
    )
    def test_the_ledger_keeps_the_reason_the_round_and_its_price(self, cast, passage, fees, price):
        if fees:
            enter(cast, n_seen=1, when_over=WhenOver.AGENT_CONSENT, from_on=timezone.now().date(), **fees)
        terms.ask_consent(passage.pk, " The hill again. ", actor=cast.art_director)
        entry = LedgerEntry.objects.get(book=cast.book, deed="ask-consent")
        assert sentence(entry.as_entry()) == (
            f"Corvin Mallowe asked for consent to round 2 on {passage.where} (1 in the fee; one more: {price}): "
            "The hill again."
        )

    def test_the_illustrator_leaves_it_to_the_agent(self, cast, passage):
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        with pytest.raises(Refused) as refused:
            terms.give_consent(passage.pk, actor=cast.illustrator)
        assert refused.value.code == "agent-speaks"

    def test_without_an_agent_the_illustrator_is_asked_and_consents(self, cast, passage):
        cast.agent.ended_at = timezone.now()
        cast.agent.save()
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        entry = LedgerEntry.objects.get(book=cast.book, deed="ask-consent")
        told = Notice.objects.filter(entry=entry).values_list("person", flat=True)
        assert list(told) == [cast.illustrator.person_id]
        assert terms.give_consent(passage.pk, actor=cast.illustrator).given_by == cast.illustrator

    @pytest.mark.parametrize("role", [Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION])
    def test_the_publisher_cannot_consent_for_the_other_side(self, cast, passage, role):
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        with pytest.raises(Refused) as refused:
            terms.give_consent(passage.pk, actor=cast.seat(role))
        assert refused.value.code == "not-yours"

    def test_it_is_asked_once_and_given_once(self, cast, passage):
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        with pytest.raises(Refused) as twice:
            terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        assert twice.value.code == "consent-open"
        terms.give_consent(passage.pk, actor=cast.agent)
        with pytest.raises(Refused) as again:
            terms.give_consent(passage.pk, actor=cast.agent)
        assert again.value.code == "consent-given"

    def test_a_declined_round_stops_the_letter_and_says_why(self, cast, passage):
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        terms.decline_consent(passage.pk, " The fee holds one round. ", actor=cast.agent)
        entry = LedgerEntry.objects.get(book=cast.book, deed="decline-consent")
        assert sentence(entry.as_entry()) == (
            "Desmond Rookley declined one extra round on Pages 4–5, ideas: The fee holds one round."
        )
        assert list(Notice.objects.filter(entry=entry).values_list("person", flat=True)) == [
            cast.art_director.person_id
        ]
        with pytest.raises(Refused) as refused:
            sent(cast, over=True)
        assert refused.value.code == "over-needs-consent"

    def test_after_a_no_it_can_be_asked_again_and_given(self, cast, passage):
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        terms.decline_consent(passage.pk, "Not without a fee.", actor=cast.agent)
        with pytest.raises(Refused) as gone:
            terms.give_consent(passage.pk, actor=cast.agent)
        assert gone.value.code == "consent-missing"
        terms.ask_consent(passage.pk, "With the fee of the terms.", actor=cast.art_director)
        terms.give_consent(passage.pk, actor=cast.agent)
        letter = sent(cast, over=True)
        assert list(OverConsent.objects.order_by("pk").values_list("used_by", flat=True)) == [None, letter.pk]
        assert list(ledger_faults(cast.book)) == []

    def test_a_consent_can_be_withdrawn_until_a_letter_has_used_it(self, cast, passage):
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        terms.give_consent(passage.pk, actor=cast.agent)
        terms.withdraw_consent(passage.pk, "She is ill.", actor=cast.agent)
        told = LedgerEntry.objects.get(book=cast.book, deed="withdraw-consent")
        assert sentence(told.as_entry()).endswith("withdrew the consent to one extra round on "
                                                  "Pages 4–5, ideas: She is ill.")  # fmt: skip
        with pytest.raises(Refused) as refused:
            sent(cast, over=True)
        assert refused.value.code == "over-needs-consent"
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        terms.give_consent(passage.pk, actor=cast.agent)
        sent(cast, over=True)
        with pytest.raises(Refused) as late:
            terms.withdraw_consent(passage.pk, "Too late.", actor=cast.agent)
        assert late.value.code == "consent-not-given"

    @pytest.mark.parametrize("deed", [terms.decline_consent, terms.withdraw_consent])
    def test_a_no_needs_words_and_somebody_who_may_say_it(self, cast, passage, deed):
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        if deed is terms.withdraw_consent:
            terms.give_consent(passage.pk, actor=cast.agent)
        refusals = {}
        for seat in (cast.agent, cast.illustrator, cast.art_director, cast.editor):
            with pytest.raises(Refused) as refused:
                deed(passage.pk, "  " if seat is cast.agent else "No.", actor=seat)
            refusals[seat.role] = refused.value.code
        assert refusals == {
            "agent": "consent-words",
            "illustrator": "agent-speaks",
            "art_director": "not-yours",
            "editor": "not-yours",
        }
        assert OverConsent.objects.open().count() == 1

    def test_what_was_given_is_withdrawn_and_not_declined(self, cast, passage):
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
        with pytest.raises(Refused) as early:
            terms.withdraw_consent(passage.pk, "No.", actor=cast.agent)
        terms.give_consent(passage.pk, actor=cast.agent)
        with pytest.raises(Refused) as given:
            terms.decline_consent(passage.pk, "No.", actor=cast.agent)
        assert (early.value.code, given.value.code) == ("consent-not-given", "consent-given")

    def test_nobody_consents_to_what_was_not_asked(self, cast, passage):
        with pytest.raises(Refused) as refused:
            terms.give_consent(passage.pk, actor=cast.agent)
        assert refused.value.code == "consent-missing"


def test_consent_is_not_asked_for_where_the_terms_do_not_want_it(cast):
    enter(cast, when_over=WhenOver.TELL)
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator)
    with pytest.raises(Refused) as refused:
        terms.ask_consent(passage.pk, "The hill.", actor=cast.art_director)
    assert refused.value.code == "consent-not-needed"
