"""An amendment that holds from before it was agreed on: only where it asks for that and whoever agrees says so."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.clock import as_if_at
from reviews.actions.terms import accept_terms, propose_terms
from reviews.models import LedgerEntry, TermsVersion
from reviews.pages.wording.ledger import sentence
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.reckoning import reckon_one
from reviews.queries.statement import export_of
from reviews.rules.contract.recount import count_again, figures
from reviews.rules.contract.terms import StageDays
from reviews.rules.states import Refused
from tests.actions.signed import contract, enter
from tests.cast import gather, sign_in
from tests.makers import a_book
from tests.one_date import dates_told, disagreements
from tests.views.test_terms import text_of

pytestmark = pytest.mark.django_db

#: Ideas have four days from Monday 2 November 2026: due on Friday the 6th, two days late on Tuesday the 10th.
MONDAY = datetime(2026, 11, 2, 9, tzinfo=UTC)
TUESDAY = datetime(2026, 11, 10, 9, tzinfo=UTC)
LONGER = {
    "stages": (StageDays("ideas", 8, 2), StageDays("sketch", 9, 4), StageDays("colour", 12, 6)),
    "from_on": date(2026, 11, 2),
}


@pytest.fixture
def cast():
    with as_if_at(MONDAY):
        cast = gather(a_book())
        enter(cast)
        return cast


def proposed(cast, **more):
    with as_if_at(TUESDAY):
        return propose_terms(cast.book.pk, contract(**LONGER), n_seen=1, actor=cast.illustrator, **more)


def agreed(made, cast, **more) -> TermsVersion:
    with as_if_at(TUESDAY):
        return accept_terms(made.pk, actor=cast.art_director, **more)


def late(cast) -> int:
    return reckon_one(cast.book, TUESDAY).statement.days.illustrator_late


def test_where_both_say_so_it_holds_from_the_day_it_names(cast):
    assert late(cast) > 0
    version = agreed(proposed(cast, reaches_back=True), cast, reaches_back=True)
    assert version.from_on == date(2026, 11, 2)
    assert late(cast) == 0
    # Eight days from Monday the 2nd end on Thursday the 12th, in the row as in the statement and everywhere else.
    assert cast.passage("Pages 4–5", "ideas").due_on == date(2026, 11, 12)
    assert disagreements(dates_told(cast, TUESDAY)) == []
    assert list(ledger_faults(cast.book)) == []
    file = export_of(cast.book, None, at=TUESDAY)
    assert figures(count_again(file)) == file["figures"]


@pytest.mark.parametrize(("asks", "says"), [(True, False), (False, False)])
def test_without_both_words_it_holds_from_no_day_before_the_agreement(cast, asks, says):
    before = late(cast)
    if not asks:
        with pytest.raises(Refused) as found:
            proposed(cast)
        assert found.value.code == "amendment-in-past"
        return
    version = agreed(proposed(cast, reaches_back=asks), cast, reaches_back=says)
    assert version.from_on == TUESDAY.date()
    assert late(cast) == before
    assert "reaches_back" not in LedgerEntry.objects.get(deed="change-terms", data__version=2).data


def test_who_agrees_cannot_let_reach_back_what_did_not_ask_for_it(cast):
    with as_if_at(TUESDAY):
        terms = contract(**(LONGER | {"from_on": TUESDAY.date()}))
        made = propose_terms(cast.book.pk, terms, n_seen=1, actor=cast.illustrator)
    with as_if_at(datetime(2026, 11, 12, 9, tzinfo=UTC)):
        version = accept_terms(made.pk, reaches_back=True, actor=cast.art_director)
    assert version.from_on == date(2026, 11, 12)


def test_ledger_and_statement_say_both_days(cast, client, monkeypatch):
    made = proposed(cast, reaches_back=True)
    told = sentence(LedgerEntry.objects.get(deed="propose", data__number=made.number).as_entry())
    assert "even from before the agreement if that says so too" in told
    monkeypatch.setattr(timezone, "now", lambda: TUESDAY)
    sign_in(client, cast.art_director.person)
    page = text_of(client.get(reverse("reviews:proposals", args=[cast.book.pk])))
    assert "It holds from 2 November 2026, before today" in page
    with as_if_at(TUESDAY):
        client.post(reverse("reviews:accept-proposal", args=[made.pk]), {"reaches_back": "on"})
    told = sentence(LedgerEntry.objects.get(deed="change-terms", data__version=2).as_entry())
    assert "holds from 2 November 2026" in told and "Both sides said that it holds from before this agreement." in told
    page = text_of(client.get(reverse("reviews:statement", args=[cast.book.pk]), {"as_of": "2026-11-09"}))
    assert "agreed on 10 November 2026, and both sides said that it holds from 2 November 2026" in page
