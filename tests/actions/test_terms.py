"""Entering terms, amending them, and going beyond them with somebody's consent."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from reviews.actions import terms
from reviews.models import Book, LedgerEntry, Letter, Notice, OverConsent, TermsVersion
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.terms import history_of, implied_terms, terms_of
from reviews.rules.refusals import sentence_for
from reviews.rules.replay import replay
from reviews.rules.sentences import sentence
from reviews.rules.states import Refused, Role
from reviews.rules.terms import Instalment, Milestone, Money, RoundGroup, StageDays, Terms, WhenOver
from reviews.rules.terms_text import terms_from_text
from tests.cast import gather
from tests.letter_scene import a_round, answered, draft_of, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


def contract(**changes) -> Terms:
    """What the two sides signed: one round for ideas, two for sketches, and a fee."""
    terms = Terms(
        version=1,
        from_on=date(2026, 11, 2),
        stages=(StageDays("ideas", 4, 2), StageDays("sketch", 9, 4), StageDays("colour", 12, 6)),
        groups=(RoundGroup("ideas", ("ideas",), 1), RoundGroup("sketch", ("sketch",), 2)),
        fee=Money(Decimal("9000.00"), "GBP"),
        round_fee=Money(Decimal("150.00"), "GBP"),
        instalments=(Instalment("All of it", Milestone.START, share=Decimal(100)),),
    )
    return replace(terms, **changes)


def enter(cast, n_seen=0, **changes) -> TermsVersion:
    return terms.change_terms(cast.book.pk, contract(**changes), n_seen=n_seen, actor=cast.art_director)


def a_round_more(cast, passage, seed=9) -> Letter:
    """Leave a draft that asks for changes on a passage once more."""
    handed_in(passage, cast.illustrator, [seed])
    pinned(passage, cast.art_director, "Once more.")
    answered(cast, passage, "ask")
    return draft_of(cast)


def test_the_first_version_takes_the_place_of_what_the_plans_imply(cast):
    enter(cast)
    held = terms_of(cast.book)
    assert not held.is_implied
    assert held.history.versions == (contract(),)


def test_the_ledger_carries_the_same_terms_under_its_hash(cast):
    version = enter(cast)
    entry = LedgerEntry.objects.get(book=cast.book, deed="change-terms")
    assert entry == version.entry
    assert terms_from_text(entry.data["terms"]) == version.as_terms() == contract()


def test_the_publishers_remark_stands_in_no_ledger_entry(cast):
    version = terms.change_terms(
        cast.book.pk, contract(), n_seen=0, house_remark="owlglass budget", actor=cast.art_director
    )
    assert version.house_remark == "owlglass budget"
    assert not [row for row in LedgerEntry.objects.all() if "owlglass" in str(row.data)]


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT, Role.EDITOR, Role.PRODUCTION])
def test_only_the_art_director_enters_terms(cast, role):
    with pytest.raises(Refused) as refused:
        terms.change_terms(cast.book.pk, contract(), n_seen=0, actor=cast.seat(role))
    assert refused.value.code == "not-yours"
    assert not TermsVersion.objects.exists()


def test_an_amendment_adds_a_version_and_keeps_the_one_before(cast):
    enter(cast)
    later = timezone.now().date() + timedelta(days=30)
    second = enter(cast, n_seen=1, from_on=later, brief_counts=False)
    assert second.number == 2
    history = history_of(cast.book)
    assert [one.brief_counts for one in history.versions] == [True, False]
    assert history.on(later - timedelta(days=1)).version == 1
    assert history.on(later).version == 2
    assert "a brief that was not met: uses no round, was uses a round" in second.entry.data["words"]


def test_an_amendment_never_reaches_back(cast):
    enter(cast)
    with pytest.raises(Refused) as refused:
        enter(cast, n_seen=1, from_on=timezone.now().date() - timedelta(days=2), brief_counts=False)
    assert refused.value.code == "amendment-in-past"
    assert TermsVersion.objects.count() == 1


def test_an_amendment_with_a_slip_in_its_year_does_not_shut_out_all_later_ones(cast):
    enter(cast)
    with pytest.raises(Refused) as refused:
        enter(cast, n_seen=1, from_on=date(2206, 12, 1), brief_counts=False)
    assert refused.value.code == "day-far-off"
    later = timezone.now().date() + timedelta(days=30)
    assert enter(cast, n_seen=1, from_on=later, brief_counts=False).number == 2


def test_two_who_amend_at_once_do_not_write_over_each_other(cast):
    enter(cast)
    with pytest.raises(Refused) as refused:
        enter(cast, n_seen=0, round_fee=None)
    assert refused.value.code == "terms-fresh"


def test_terms_nobody_could_keep_are_refused_and_leave_no_trace(cast):
    with pytest.raises(Refused) as refused:
        enter(cast, stages=())
    assert refused.value.code == "terms-without-stages"
    assert not LedgerEntry.objects.filter(deed="change-terms").exists()


def test_both_sides_are_told_of_new_terms(cast):
    version = enter(cast)
    told = set(Notice.objects.filter(entry=version.entry).values_list("person", flat=True))
    assert told == {cast.illustrator.person_id, cast.agent.person_id}


def test_dates_follow_the_entered_terms(cast):
    enter(cast)
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator)
    passage.refresh_from_db()
    calendar = contract().calendar
    assert passage.answer_due_on == calendar.nth(timezone.now().date(), 2)  # the plan says 3
    pinned(passage, cast.art_director)
    answered(cast, passage, "ask")
    sent(cast)
    passage.refresh_from_db()
    assert passage.due_on == calendar.nth(timezone.now().date(), 4)  # the plan says 5


def test_the_ledger_still_adds_up_to_the_rows_under_terms(cast):
    enter(cast, publisher_late_moves=True)
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    handed_in(passage, cast.illustrator, [2])
    answered(cast, passage, "approve")
    sent(cast)
    rows = LedgerEntry.objects.filter(book=cast.book).order_by("seq")
    replayed = replay(row.as_entry() for row in rows)
    for row in cast.book.passages.all():
        assert (replayed[row.pk].state, replayed[row.pk].due_on) == (row.state, row.due_on.isoformat())


def test_a_letter_beyond_the_fee_is_refused_where_the_terms_allow_no_more(cast):
    enter(cast, when_over=WhenOver.REFUSE)
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    a_round_more(cast, passage)
    with pytest.raises(Refused) as refused:
        sent(cast, over=True)
    assert refused.value.code == "over-refused"
    assert draft_of(cast).sent_at is None


def test_a_letter_beyond_the_fee_only_needs_a_yes_where_the_terms_only_tell(cast):
    enter(cast, when_over=WhenOver.TELL)
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    a_round_more(cast, passage)
    with pytest.raises(Refused) as refused:
        sent(cast)
    assert refused.value.code == "over-needs-yes"
    assert sent(cast, over=True).number == 2


def test_days_that_end_years_away_are_refused_and_those_entered_earlier_mended(cast, monkeypatch):
    slow = [StageDays(stage, 400, 400) for stage in ("ideas", "sketch", "colour")]
    with monkeypatch.context() as patched:
        patched.setattr(terms, "check_end", lambda *_: None)  # as a version before there was such a check
        terms.change_terms(cast.book.pk, contract(stages=tuple(slow)), n_seen=0, actor=cast.art_director)
    for n_days in (399, 400):
        slow[0] = StageDays("ideas", n_days, 399)
        with pytest.raises(Refused) as refused:
            enter(cast, 1, from_on=timezone.now().date(), stages=tuple(slow))
        assert refused.value.code == "terms-end-far-off"
        assert "Give its stages fewer days" in sentence_for(refused.value)
    assert TermsVersion.objects.count() == 1
    assert enter(cast, 1, from_on=timezone.now().date()).number == 2


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
            f"Corvin Mallowe asked for consent to round 2 on {passage.where} (the fee holds 1; one more: {price}): "
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
            "Desmond Rookley declined one round beyond the fee on Pages 4–5, ideas: The fee holds one round."
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
        assert sentence(told.as_entry()).endswith("withdrew the consent to one round beyond the fee on "
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


def test_implied_terms_are_not_stored(cast):
    implied_terms(cast.book)
    assert not TermsVersion.objects.exists()


def test_terms_changed_behind_the_ledgers_back_are_found(cast):
    version = enter(cast)
    assert list(ledger_faults(cast.book)) == []
    text = version.text | {"fee": {"amount": "1.00", "currency": "GBP"}}
    TermsVersion.objects.filter(pk=version.pk).update(text=text)
    assert list(ledger_faults(cast.book)) == ["Version 1 of the terms is not the one its ledger entry carries."]


def test_a_book_that_counts_days_by_other_calendars_than_its_terms_is_found(cast):
    enter(cast, places=("GB-ENG", "US"), own_places=True)
    book = Book.objects.get(pk=cast.book.pk)
    assert list(ledger_faults(book)) == []
    book.day_counts[0]["places"] = ["US", "GB-ENG"]
    book.save()
    assert list(ledger_faults(book)) == ["The calendars that the book carries are not those of its terms."]
