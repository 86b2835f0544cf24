"""Terms that one side entered: who is asked, and what page and statement say until the other side agrees."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.terms import propose_terms
from reviews.pages.terms import _entered
from reviews.queries.terms import terms_of
from reviews.rules.contract.terms import Money
from reviews.rules.states import Role
from tests.actions.test_terms import contract, enter
from tests.cast import gather, sign_in
from tests.makers import a_book
from tests.views.test_terms import confirmed, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def as_role(cast, client):
    def sign(role):
        sign_in(client, cast.seat(role).person)
        return client

    return sign


def test_the_agent_is_asked_and_the_statement_says_that_an_amendment_waits(cast, as_role):
    enter(cast)
    today = timezone.now().date()
    cheaper = contract(round_fee=Money(Decimal("10.00"), "GBP"), from_on=today)
    propose_terms(cast.book.pk, cheaper, n_seen=1, actor=cast.art_director)
    client = as_role(Role.AGENT)
    assert "The other side proposes" in text_of(client.get("/"))
    page = text_of(client.get(reverse("reviews:proposals", args=[cast.book.pk])))
    assert "fee for an extra round: GBP 10.00" in page.lower().replace("gbp", "GBP")
    assert "or the day of the agreement where that is later" in page
    statement = reverse("reviews:statement", args=[cast.book.pk])
    assert "waits for the other side’s word. No figure is counted by it." in text_of(client.get(statement))
    confirmed(cast)
    assert "waits for the other side’s word" not in text_of(client.get(statement))


def test_terms_of_before_agreements_are_said_to_be_entered_by_one_side(cast, as_role):
    """As a book of before has it: the entry says nothing of a proposal."""
    version = enter(cast)
    del version.entry.data["proposed"]
    with_old = {**version.entry.data}
    held = terms_of(cast.book)
    held.rows[0].entry.data = with_old
    assert "Entered by one side" in _entered(held.rows[0])


def test_the_first_terms_entered_late_say_that_they_restate_an_earlier_day(cast, as_role):
    enter(cast)
    client = as_role(Role.AGENT)
    day = (timezone.now().date() - timedelta(days=1)).isoformat()
    page = text_of(client.get(reverse("reviews:statement", args=[cast.book.pk]), {"as_of": day}))
    assert "this account of an earlier day is restated by them" in page
    today = text_of(client.get(reverse("reviews:statement", args=[cast.book.pk])))
    assert "restated by them" not in today
