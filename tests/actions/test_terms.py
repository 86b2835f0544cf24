"""Entering terms and amending them."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from reviews.actions import terms
from reviews.actions.books import make_book
from reviews.actions.clock import as_if_at
from reviews.actions.proposals import accept_proposal, decline_proposal
from reviews.actions.seats import invite, take_seat
from reviews.actions.terms import propose_terms
from reviews.models import Book, LedgerEntry, Notice, TermsVersion
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.ledger_faults import fault_words
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.terms import history_of, implied_terms, terms_of
from reviews.rules.contract.terms import Instalment, Milestone, Money, StageDays, WhenOver
from reviews.rules.contract.terms_text import terms_from_text
from reviews.rules.replay import folded
from reviews.rules.states import Refused, Role
from tests.actions.signed import a_round_more, contract, enter
from tests.agreed import change_terms
from tests.cast import gather
from tests.letter_scene import a_round, answered, draft_of, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


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
    version = change_terms(cast.book.pk, contract(), n_seen=0, house_remark="owlglass budget", actor=cast.art_director)
    assert version.house_remark == "owlglass budget"
    assert not [row for row in LedgerEntry.objects.all() if "owlglass" in str(row.data)]


@pytest.mark.parametrize("role", [Role.EDITOR, Role.PRODUCTION])
def test_only_who_speaks_for_a_side_enters_terms(cast, role):
    with pytest.raises(Refused) as refused:
        change_terms(cast.book.pk, contract(), n_seen=0, actor=cast.seat(role))
    assert refused.value.code == "not-yours"
    assert not TermsVersion.objects.exists()


@pytest.mark.parametrize("role", [Role.ART_DIRECTOR, Role.ILLUSTRATOR, Role.AGENT])
def test_either_side_enters_terms_and_the_other_makes_them_hold(cast, role):
    before = history_of(cast.book)
    made = propose_terms(cast.book.pk, contract(), n_seen=0, house_remark="owlglass", actor=cast.seat(role))
    assert history_of(cast.book) == before and not TermsVersion.objects.exists()
    for own in (cast.seat(role), *([cast.agent, cast.illustrator] if role != Role.ART_DIRECTOR else [])):
        with pytest.raises(Refused) as refused:
            accept_proposal(made.pk, actor=own)
        assert refused.value.code == "own-proposal"
    accept_proposal(made.pk, actor=cast.agent if role == Role.ART_DIRECTOR else cast.art_director)
    entry = LedgerEntry.objects.get(deed="change-terms")
    assert entry.data["proposed"]["by"] == cast.seat(role).person.name
    assert f"agreed to version 1 of the terms, which {cast.seat(role).person.name} entered" in sentence(
        entry.as_entry()
    )
    # The remark is the publisher's own: the other side has none to make.
    assert TermsVersion.objects.get().house_remark == ("owlglass" if role == Role.ART_DIRECTOR else "")
    assert list(ledger_faults(cast.book)) == []


def test_the_fee_for_an_extra_round_does_not_fall_by_one_side_alone(cast):
    enter(cast)
    cheaper = contract(round_fee=Money(Decimal("10.00"), "GBP"), from_on=timezone.now().date())
    made = propose_terms(cast.book.pk, cheaper, n_seen=1, actor=cast.art_director)
    assert history_of(cast.book).versions[-1].round_fee == contract().round_fee
    decline_proposal(made.pk, "Never.", actor=cast.agent)
    assert len(history_of(cast.book).versions) == 1


def test_an_amendment_holds_from_no_day_before_it_is_agreed_to(cast):
    enter(cast)
    today = timezone.now()
    made = propose_terms(
        cast.book.pk, contract(brief_counts=False, from_on=today.date()), n_seen=1, actor=cast.art_director
    )
    later = today + timedelta(days=10)
    with as_if_at(later):
        accept_proposal(made.pk, actor=cast.illustrator)
    assert history_of(cast.book).versions[-1].from_on == later.date()


def test_an_amendment_that_brings_a_zone_further_east_holds_from_no_day_that_is_over_there(cast):
    enter(cast, zone="UTC")
    agreed = timezone.now().replace(hour=20) + timedelta(days=10)
    east = contract(zone="Asia/Tokyo", from_on=agreed.date())
    made = propose_terms(cast.book.pk, east, n_seen=1, actor=cast.art_director)
    with as_if_at(agreed):
        accept_proposal(made.pk, actor=cast.illustrator)
    held = history_of(cast.book)
    assert held.versions[-1].from_on == agreed.date() + timedelta(days=1)
    assert held.known_on(agreed.date()).versions == held.versions[:-1]


def test_one_proposal_of_terms_at_a_time_and_nobody_writes_over_what_they_have_not_read(cast):
    first = propose_terms(cast.book.pk, contract(), n_seen=0, actor=cast.art_director)
    for actor in (cast.illustrator, cast.art_director):
        with pytest.raises(Refused) as refused:
            propose_terms(cast.book.pk, contract(brief_counts=False), n_seen=0, actor=actor)
        assert refused.value.code == "proposal-fresh"
    second = propose_terms(cast.book.pk, contract(brief_counts=False), n_seen=0, seen=first.number, actor=cast.agent)
    first.refresh_from_db()
    assert first.state == "answered"
    accept_proposal(second.pk, actor=cast.art_director)
    assert not history_of(cast.book).versions[0].brief_counts


def test_a_book_begun_by_an_illustrator_has_its_agent_and_its_terms_before_an_art_director(cast):
    """Terms that nobody could confirm yet wait for whoever takes the publisher's seat, and count nothing."""
    book = make_book(a_book(title="Alone", role=Role.ILLUSTRATOR), actor=cast.illustrator.person)
    seat = book.seats.get()
    agent = take_seat(
        invite(book.pk, email="agent@rookley.example", name="Odette Quill", role=Role.AGENT, actor=seat).secret
    )
    made = propose_terms(book.pk, contract(), n_seen=0, actor=agent)
    assert not TermsVersion.objects.filter(book=book).exists()
    director = take_seat(
        invite(book.pk, email="ad@else.example", name="Una Farrow", role=Role.ART_DIRECTOR, actor=seat).secret
    )
    accept_proposal(made.pk, actor=director)
    assert history_of(book).versions == (contract(),)


def test_an_amendment_adds_a_version_and_keeps_the_one_before(cast):
    enter(cast)
    later = timezone.now().date() + timedelta(days=30)
    second = enter(cast, n_seen=1, from_on=later, brief_counts=False)
    assert second.number == 2
    history = history_of(cast.book)
    assert [one.brief_counts for one in history.versions] == [True, False]
    assert history.on(later - timedelta(days=1)).version == 1
    assert history.on(later).version == 2
    assert "a brief that was not met: uses no round, was uses a round" in sentence(second.entry.as_entry())


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
    assert told == {cast.art_director.person_id, cast.agent.person_id}


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
    # Four days by the terms, but the stage opened with the five of its plan, and a change makes no date earlier.
    assert passage.due_on == calendar.nth(timezone.now().date(), 5)


def test_the_ledger_still_adds_up_to_the_rows_under_terms(cast):
    enter(cast, publisher_late_moves=True)
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    handed_in(passage, cast.illustrator, [2])
    answered(cast, passage, "approve")
    sent(cast)
    rows = LedgerEntry.objects.filter(book=cast.book).order_by("seq")
    replayed = folded(row.as_entry() for row in rows)
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
        change_terms(cast.book.pk, contract(stages=tuple(slow)), n_seen=0, actor=cast.art_director)
    for n_days in (399, 400):
        slow[0] = StageDays("ideas", n_days, 399)
        with pytest.raises(Refused) as refused:
            enter(cast, 1, from_on=timezone.now().date(), stages=tuple(slow))
        assert refused.value.code == "terms-end-far-off"
        assert "Give its stages fewer days" in sentence_for(refused.value)
    assert TermsVersion.objects.count() == 1
    assert enter(cast, 1, from_on=timezone.now().date()).number == 2


def test_implied_terms_are_not_stored(cast):
    implied_terms(cast.book)
    assert not TermsVersion.objects.exists()


def test_terms_changed_behind_the_ledgers_back_are_found(cast):
    version = enter(cast)
    assert list(ledger_faults(cast.book)) == []
    text = version.text | {"fee": {"amount": "1.00", "currency": "GBP"}}
    TermsVersion.objects.filter(pk=version.pk).update(text=text)
    assert [fault_words(fault) for fault in ledger_faults(cast.book)] == [
        "Version 1 of the terms is not the one its ledger entry carries."
    ]


def test_a_book_that_counts_days_by_other_calendars_than_its_terms_is_found(cast):
    enter(cast, places=("GB-ENG", "US"), own_places=True)
    book = Book.objects.get(pk=cast.book.pk)
    assert list(ledger_faults(book)) == []
    book.day_counts[0]["places"] = ["US", "GB-ENG"]
    book.save()
    assert [fault_words(fault) for fault in ledger_faults(book)] == [
        "The calendars that the book carries are not those of its terms."
    ]


@pytest.mark.parametrize("is_amended", [False, True])
def test_instalments_that_do_not_make_up_the_fee_are_not_entered(cast, is_amended):
    if is_amended:
        enter(cast)
    part = Instalment(name="Start", falls=Milestone.START, amount=Money(Decimal(1800), "GBP"))
    from_on = timezone.localdate() + timedelta(30)
    wrong = {"from_on": from_on, "fee": Money(Decimal(9000), "GBP"), "instalments": (part,)}
    with pytest.raises(Refused) as refused:
        enter(cast, n_seen=int(is_amended), **wrong)
    assert refused.value.code == "instalments-not-whole"
    assert TermsVersion.objects.count() == is_amended
