"""Ready sets of terms: looked at before they fill the form, each figure with its source; what is the book's stays."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from reviews.models import TermsVersion
from reviews.pages.ready_sets import look_at
from reviews.pages.wording.term_sets import SOURCE_WORDS
from reviews.rules.contract.day_ranges import DayRange
from reviews.rules.contract.fees import COVER, Instalment, Milestone, Money
from reviews.rules.contract.periods import StageSilence
from reviews.rules.contract.term_sets import READY_SETS, Figure, Source, filled_from
from reviews.rules.contract.terms import RoundGroup, StageDays
from reviews.rules.states import Role
from tests.actions.test_terms import contract, enter
from tests.cast import gather, sign_in
from tests.makers import a_book
from tests.views.test_terms import confirmed, posted, terms_url, text_of

OWN = {
    "places": ("IT", "US-NY"),
    "own_places": True,
    "printer_place": "IT",
    "zone": "Europe/Rome",
    "shut": (date(2026, 12, 24),),
    "closures": (DayRange(date(2026, 8, 3), date(2026, 8, 14)),),
    "fee": Money(Decimal(12345), "EUR"),
    "round_fee": Money(Decimal(77), "EUR"),
}
COVER_LINES = (StageDays("sketch", 3, 2, COVER), StageDays("colour", 4, 2, COVER))
COVER_GROUPS = (RoundGroup("cover", ("sketch", "colour"), 5, COVER),)


def book_terms():
    plain = contract()
    return contract(
        stages=(*plain.stages, *COVER_LINES),
        groups=(*plain.groups, *COVER_GROUPS),
        silences=(StageSilence("sketch", 9, part=COVER),),
        **OWN,
    )


@pytest.mark.parametrize("code", sorted(READY_SETS))
def test_filling_leaves_places_fee_and_cover_as_they_are(code):
    held, ready = book_terms(), READY_SETS[code]
    filled = filled_from(ready, held)
    assert {name: getattr(filled, name) for name in OWN} == OWN
    assert tuple(line for line in filled.stages if line.part == COVER) == COVER_LINES
    assert tuple(group for group in filled.groups if group.part == COVER) == COVER_GROUPS
    assert filled.silences == (StageSilence("sketch", 9, part=COVER),)
    assert tuple(line for line in filled.stages if line.part != COVER) == ready.terms.stages
    assert (filled.instalments, filled.cancellation) == (ready.terms.instalments, ready.terms.cancellation)


@pytest.mark.parametrize("code", sorted(READY_SETS))
def test_every_number_of_a_set_names_its_source(code):
    ready = READY_SETS[code]
    look = look_at(ready, book_terms())
    assert all(figure.source for figure in look.figures)
    assert {figure.source for figure in look.figures} <= {str(words) for words in SOURCE_WORDS.values()}
    told = " ".join(f"{figure.what} {figure.says}" for figure in look.figures)
    for line in ready.terms.stages:
        assert told.count(f"days to hand in {line.hand_in_days}")
    n_shares = len(ready.terms.instalments) + len(ready.terms.cancellation)
    assert sum("per cent" in figure.says for figure in look.figures) == n_shares


def test_days_are_called_common_practice_and_thirds_have_their_source():
    ready = READY_SETS["illustrator"]
    assert ready.source_of(Figure.HAND_IN_DAYS) == Source.COMMON
    sources = {figure.what: figure.source for figure in look_at(ready, book_terms()).figures}
    assert sources["Sketch: days to hand in"] == "common practice"
    assert sources["Rounds for sketches"] == "public terms of working illustrators"
    assert sources["Rounds for colour"] == "common practice"
    assert "Association of Illustrators" in sources["Kill fee from the start"]


def test_what_would_change_is_what_differs_and_nothing_else():
    ready = READY_SETS["illustrator"]
    changes = look_at(ready, book_terms()).changes
    assert "days to hand in sketch: 20, was 9" in changes
    assert not any(name in change for change in changes for name in ("cover", "holidays kept", "time zone", "fee: EUR"))
    assert look_at(ready, filled_from(ready, book_terms())).changes == ()


@pytest.fixture
def cast(db):
    return gather(a_book())


@pytest.fixture
def client(cast, client):
    sign_in(client, cast.art_director.person)
    return client


def test_a_set_is_looked_at_before_it_fills_the_form(cast, client):
    enter(cast, **{name: getattr(book_terms(), name) for name in ("stages", "groups", "silences", *OWN)})
    looked = client.get(terms_url(cast), {"look": "illustrator"})
    assert "Days to hand in sketch: 20, was 9." in text_of(looked)
    assert "common practice" in text_of(looked)
    assert looked.context["form"].stages.parts[0][1][1]["hand_in_days"].value() == 9
    filled = client.get(terms_url(cast), {"start": "illustrator"})
    form = filled.context["form"]
    assert form.stages.parts[0][1][1]["hand_in_days"].value() == 20
    assert form.rules["place"].value() == "Italy"
    assert form.money.fees["fee"].value() == "12345"
    assert TermsVersion.objects.count() == 1


def test_what_the_form_was_filled_with_is_entered_as_it_was_shown(cast, client):
    held = replace(book_terms(), instalments=(Instalment(name="All", falls=Milestone.START, share=Decimal(100)),))
    names = ("stages", "groups", "silences", "instalments", *OWN)
    enter(cast, **{name: getattr(held, name) for name in names})
    filled = filled_from(READY_SETS["illustrator"], TermsVersion.objects.get().as_terms())
    response = client.post(
        reverse("reviews:change-terms", args=[cast.book.pk]), posted(filled, 1, from_on="2026-12-01")
    )
    assert response.status_code == 302, response.context["form"].error
    entered = confirmed(cast).as_terms()
    assert {name: getattr(entered, name) for name in OWN} == OWN
    assert set(COVER_LINES) <= set(entered.stages)


@pytest.mark.parametrize("role", [Role.EDITOR, Role.PRODUCTION])
def test_who_may_not_enter_terms_is_shown_no_set(cast, client, role):
    sign_in(client, cast.seat(role).person)
    page = client.get(terms_url(cast), {"look": "trade"})
    assert page.status_code == 200
    assert "would change" not in text_of(page)


def test_a_set_that_does_not_exist_shows_the_page_without_one(client, cast):
    assert client.get(terms_url(cast), {"look": "moon"}).context["look"] is None
