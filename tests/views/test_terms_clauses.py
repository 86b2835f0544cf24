"""Clauses on the form of the terms: typed in, read back, refused in a sentence, and shown as they were meant."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.models import TermsVersion
from reviews.rules.contract.day_ranges import DayRange
from reviews.rules.contract.periods import DayUnit, StageSilence
from reviews.rules.contract.terms import RoundsPer, Terms
from reviews.rules.states import Side
from tests.actions.test_terms import contract
from tests.cast import gather, sign_in
from tests.makers import a_book
from tests.views.test_terms import confirmed, posted, terms_url, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    return gather(a_book())


@pytest.fixture
def client(cast, client):
    sign_in(client, cast.art_director.person)
    return client


def entered(cast, client, **changes) -> Terms:
    response = client.post(reverse("reviews:change-terms", args=[cast.book.pk]), posted(contract(), **changes))
    assert response.status_code == 302, response.context["form"].error or response.context["form"].wrong
    return confirmed(cast).as_terms()


def refused(cast, client, **changes) -> str:
    response = client.post(reverse("reviews:change-terms", args=[cast.book.pk]), posted(contract(), **changes))
    assert response.status_code == 422
    assert not TermsVersion.objects.exists()
    return text_of(response)


def test_days_of_one_side_are_entered_as_ranges_and_come_back_as_rows(cast, client):
    stored = entered(cast, client, **{
        "days-0-first": "2026-12-24", "days-0-last": "2027-01-01",
        "days-0-side": "illustrator", "days-0-kind": "closures",
        "days-1-first": "2026-11-30", "days-1-side": "publisher", "days-1-kind": "worked",
    })  # fmt: skip
    assert stored.closures == (DayRange(date(2026, 12, 24), date(2027, 1, 1), Side.ILLUSTRATOR),)
    assert stored.worked == (DayRange(date(2026, 11, 30), date(2026, 11, 30), Side.PUBLISHER),)
    page = client.get(terms_url(cast))
    assert "24 December 2026 to 1 January 2027 for the illustrator’s days" in text_of(page)
    assert [row["first"].value() for row in page.context["form"].days.rows][:3] == ["2026-12-24", "2026-11-30", None]
    book = cast.book
    book.refresh_from_db()
    assert not book.calendar_of(Side.ILLUSTRATOR).is_working(date(2026, 12, 24))
    assert book.calendar_of(Side.PUBLISHER).is_working(date(2026, 12, 24))


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"all-sketch-silence_in": "calendar"}, "figures cannot be read"),
        ({"all-sketch-silence_in": "working", "all-sketch-silence_days": "3"}, "Silence would approve after 3 days"),
        ({"all-sketch-redo_days": "-1"}, "figures cannot be read"),
        ({"answer_grace": "401"}, "figures cannot be read"),
        ({"days-0-last": "2026-12-24"}, "The first day is missing here"),
        ({"days-0-first": "2026-12-24", "days-0-last": "2026-12-20"}, "run backwards"),
        ({"days-0-first": "2026-12-24", "days-0-side": "printer"}, "figures cannot be read"),
        ({"place": "United Kingdom"}, "Which part of the United Kingdom?"),
        ({"other_place": "gb"}, "England, United Kingdom"),
        ({"printer_place": "Atlantis"}, "The holidays of “Atlantis” are not known"),
        ({"all-ideas-group": "a", "all-ideas-rounds": "2", "all-sketch-group": "a", "all-sketch-per": "delivery"},
         "say differently whose rounds"),
    ],
)  # fmt: skip
def test_clauses_that_cannot_be_kept_are_refused_in_a_sentence(cast, client, wrong, sentence):
    assert sentence in refused(cast, client, **wrong)


def test_whose_rounds_and_what_is_new_work_are_entered_and_said(cast, client):
    stored = entered(cast, client, **{"all-sketch-per": "delivery", "new_work_after": "sketch"})
    assert [group.per for group in stored.groups] == [RoundsPer.SPREAD, RoundsPer.DELIVERY, RoundsPer.SPREAD]
    assert stored.new_work_after == "sketch"
    page = text_of(client.get(terms_url(cast)))
    assert "one letter is one round, however many spreads it is about" in page
    assert "outside the fee once the sketch stage is approved" in page


def test_clauses_of_one_stage_are_entered_said_and_come_back(cast, client):
    stored = entered(cast, client, **{
        "all-ideas-redo_days": "2", "all-ideas-second_look_days": "1",
        "all-sketch-unit": "calendar", "all-sketch-silence_in": "calendar", "all-sketch-silence_days": "14",
        "all-colour-silence_in": "never", "answer_grace": "3",
    })  # fmt: skip
    ideas, sketch, _ = stored.stages
    assert (ideas.redo_days, ideas.second_look_days, ideas.unit) == (2, 1, DayUnit.WORKING)
    assert (sketch.redo_days, sketch.second_look_days, sketch.unit) == (None, None, DayUnit.CALENDAR)
    assert stored.silences == (StageSilence("sketch", 14, DayUnit.CALENDAR), StageSilence("colour", None))
    assert (stored.hand_in_grace, stored.answer_grace) == (0, 3)
    page = client.get(terms_url(cast))
    assert "a revision 2" in text_of(page)
    assert "9 calendar days" in text_of(page)
    assert "At sketch, it counts as approval" in text_of(page) or "at sketch, it counts as approval" in text_of(page)
    response = client.post(
        reverse("reviews:change-terms", args=[cast.book.pk]),
        posted(stored, 1, from_on=timezone.now().date().isoformat()),
    )
    assert "These are the terms that already hold" in text_of(response)


def test_the_ordinary_contract_leaves_the_clauses_folded(cast, client):
    plain = client.get(terms_url(cast)).context["form"]
    assert not plain.stages.has_clauses
    assert not plain.days.is_used
    entered(cast, client, **{"all-ideas-redo_days": "2", "days-0-first": "2026-12-24"})
    told = client.get(terms_url(cast)).context["form"]
    assert told.stages.has_clauses
    assert told.days.is_used


def test_the_printers_place_is_a_third_calendar(cast, client):
    stored = entered(cast, client, place="England, United Kingdom", printer_place="Italy")
    assert stored.printer_place == "IT"
    assert "Keeps the holidays of Italy" in text_of(client.get(terms_url(cast)))


def test_the_form_shows_the_next_closed_days_of_each_place(cast, client):
    entered(cast, client, place="England, United Kingdom", other_place="New York, United States")
    closed = client.get(terms_url(cast)).context["closed"]
    assert [len(closed[name].days) for name in ("place", "other_place", "printer_place")] == [10, 10, 0]


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("England, United Kingdom", "Good Friday"),
        ("GB-SCT", "Scotland, United Kingdom: next closed"),
        ("United Kingdom", "Which part of the United Kingdom?"),
        ("Germany", "It has parts with holidays of their own"),
        ("Atlantis <b>", "are not known here"),
        ("", "no holidays are kept"),
    ],
)
def test_a_place_tells_its_closed_days_as_it_is_chosen(client, typed, told):
    response = client.get(reverse("reviews:closed-days"), {"place": typed})
    assert response.status_code == 200
    assert told in text_of(response)
    assert "<b>”" not in response.content.decode()


def test_a_stranger_is_asked_to_sign_in_before_a_place_is_looked_up(client):
    client.logout()
    assert client.get(reverse("reviews:closed-days"), {"place": "Italy"}).status_code == 302


def test_a_fixed_date_is_typed_shown_and_comes_back(cast, client):
    stored = entered(cast, client, **{
        "all-colour-hand_in_on": "2027-03-06", "all-sketch-answer_on": "2027-01-11", "fixed_runs_on": "no",
    })  # fmt: skip
    days = {line.stage: (line.hand_in_on, line.answer_on) for line in stored.stages}
    assert (days["colour"], days["sketch"]) == ((date(2027, 3, 6), None), (None, date(2027, 1, 11)))
    assert stored.fixed_runs_on is False
    page = client.get(terms_url(cast))
    told = text_of(page)
    assert "the first version of colour is due on 6 March 2027" in told.lower().replace("march", "March")
    assert "it holds also where it lies on a closed day" in told
    assert page.context["form"].stages.has_dates
    assert "Runs to the next working day" in told  # the form says which rule there is


def test_fixed_dates_that_run_backwards_are_refused_in_a_sentence(cast, client):
    told = refused(cast, client, **{"all-sketch-hand_in_on": "2027-03-06", "all-colour-hand_in_on": "2027-01-11"})
    assert "The date 11 January 2027, fixed for colour, comes before 6 March 2027, fixed for Sketch" in told, told
