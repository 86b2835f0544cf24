"""The long form of the terms: what a contract does not say is folded away behind a line that says so."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from reviews.forms.terms import TermsForm
from reviews.rules.contract.fees import Instalment, Milestone, Money, Price, PricedBy
from reviews.rules.contract.term_sets import READY_SETS
from reviews.rules.states import Role
from tests.actions.test_terms import contract
from tests.cast import gather, sign_in
from tests.makers import a_book
from tests.views.test_terms import posted

pytestmark = pytest.mark.django_db

FOLD = (
    r'<details class="more" id="enter-{key}"(?: data-part="shut")?(?P<open> open)?>\s*<summary>(?P<said>.*?)</summary>'
)


def fold(body: str, key: str) -> tuple[bool, str]:
    """Say whether a fold stands open, and what its line says."""
    found = re.search(FOLD.format(key=key), body, re.S)
    assert found, key
    return bool(found["open"]), " ".join(re.sub("<[^>]*>", " ", found["said"]).split())


@pytest.fixture
def agent(client):
    cast = gather(a_book())
    sign_in(client, cast.seat(Role.AGENT).person)
    return cast, client


def test_what_is_not_in_the_terms_is_folded_and_says_so(agent):
    cast, client = agent
    body = client.get(reverse("reviews:terms", args=[cast.book.pk])).content.decode()
    for key in ("instalments", "prices", "kill-fee", "rejection"):
        is_open, said = fold(body, key)
        assert not is_open and said.endswith("not in the terms"), (key, said)


def test_a_fold_names_what_it_holds():
    price = Price(by=PricedBy.ROUND, after_approval=True, amount=Money(90, "GBP"))
    parts = (
        Instalment(name="Signing", falls=Milestone.START, share=25),
        Instalment(name="Colour", falls=Milestone.APPROVAL, stage="colour", share=75),
    )
    form = TermsForm(terms=contract(prices=(price,), instalments=parts))
    told = {table.key: table.told for table in form.money.tables}
    assert told == {
        "instalments": ["Signing 25 %", "Colour 75 %"],
        "prices": ["After approval 90 GBP"],
        "kill-fee": [],
        "rejection": [],
    }


def test_what_cannot_be_read_stands_open(agent):
    cast, client = agent
    given = posted(contract(), **{"price-0-amount": "much", "rejection-1-share": "half"})
    body = client.post(reverse("reviews:change-terms", args=[cast.book.pk]), given).content.decode()
    assert {key: fold(body, key)[0] for key in ("prices", "rejection", "kill-fee", "instalments")} == {
        "prices": True, "rejection": True, "kill-fee": False, "instalments": False,
    }  # fmt: skip


def test_instalments_that_the_rules_refuse_stand_open(agent):
    cast, client = agent
    given = posted(READY_SETS["illustrator"].terms, **{"instalment-0-share": "99"})
    body = client.post(reverse("reviews:change-terms", args=[cast.book.pk]), given).content.decode()
    assert fold(body, "instalments")[0] and not fold(body, "prices")[0]
