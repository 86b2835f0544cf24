"""A book's title, publisher and last day, changed after it was set up."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.book_facts import change_book
from reviews.actions.clock import as_if_at
from reviews.models import Book, LedgerEntry, Notice
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.refusals import REFUSALS
from reviews.queries.ledger_check import ledger_faults
from reviews.rules.states import Refused, Role
from tests.accounts import statement_of
from tests.cast import gather, sign_in
from tests.makers import a_book

pytestmark = pytest.mark.django_db

SOON, LATER = date(2027, 3, 1), date(2028, 3, 1)


@pytest.fixture
def cast():
    return gather(a_book(final_on=LATER))


def changed(cast, **wanted) -> Book:
    now = {"title": cast.book.title, "publisher": cast.book.publisher, "final_on": cast.book.final_on}
    return change_book(
        cast.book.pk, **(now | {"reason": "The printer’s slot moved."} | wanted), actor=cast.art_director
    )


def test_a_new_title_stands_and_the_ledger_tells_the_old_one(cast):
    changed(cast, title="  The Otter’s Clock ")
    entry = LedgerEntry.objects.filter(book=cast.book).latest("seq")
    assert Book.objects.get(pk=cast.book.pk).title == "The Otter’s Clock"
    assert "from “The Otter Who Kept Time” to “The Otter’s Clock”" in sentence(entry.as_entry())
    assert "final_on" not in entry.data["changed"]
    assert list(ledger_faults(cast.book)) == []


def test_the_last_day_moves_with_a_reason_that_both_sides_are_told(cast):
    changed(cast, final_on=SOON)
    entry = LedgerEntry.objects.filter(book=cast.book).latest("seq")
    assert sentence(entry.as_entry()).endswith("from 1 March 2028 to 1 March 2027: The printer’s slot moved.")
    told = set(Notice.objects.filter(entry=entry).values_list("person", flat=True))
    assert told == {cast.illustrator.person_id, cast.agent.person_id}


def test_production_moves_the_printers_date_and_nothing_else(cast):
    facts = {"title": cast.book.title, "publisher": cast.book.publisher, "final_on": SOON}
    with pytest.raises(Refused) as refused:
        change_book(cast.book.pk, **(facts | {"title": "Mine"}), reason="The printer.", actor=cast.production)
    assert refused.value.code == "printers-date-only"
    change_book(cast.book.pk, **facts, reason="The printer’s slot moved.", actor=cast.production)
    entry = LedgerEntry.objects.filter(book=cast.book).latest("seq")
    assert Book.objects.get(pk=cast.book.pk).final_on == SOON
    told = set(Notice.objects.filter(entry=entry).values_list("person", flat=True))
    assert told == {cast.illustrator.person_id, cast.agent.person_id, cast.art_director.person_id}


def test_a_statement_of_an_earlier_day_keeps_the_day_that_held_then(cast):
    """Brought forward to a day nobody can meet: the statement of today says so, that of yesterday does not."""
    first = timezone.now()
    with as_if_at(first + timedelta(days=2)):
        changed(cast, final_on=first.date() + timedelta(days=4))
    book = Book.objects.get(pk=cast.book.pk)
    assert not statement_of(book, first.date()).cannot_meet
    assert statement_of(book, first.date() + timedelta(days=2)).cannot_meet


@pytest.mark.parametrize(
    ("wanted", "code"),
    [
        ({}, "nothing-changed"),
        ({"title": "  "}, "title-missing"),
        ({"final_on": SOON, "reason": " "}, "final-date-reason"),
        ({"final_on": date(2020, 1, 1)}, "final-date-past"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_changes(cast, wanted, code):
    before = LedgerEntry.objects.count()
    with pytest.raises(Refused) as refused:
        changed(cast, **wanted)
    assert refused.value.code == code
    assert LedgerEntry.objects.count() == before
    assert Book.objects.get(pk=cast.book.pk).final_on == LATER


def test_the_page_changes_it_and_says_what_is_wrong(client, cast):
    sign_in(client, cast.art_director.person)
    url = reverse("reviews:change-book", args=[cast.book.pk])
    asked = {"title": "The Otter’s Clock", "publisher": "", "final_on": "2027-03-01", "reason": ""}
    wrong = client.post(url, asked)
    assert wrong.status_code == 422 and str(REFUSALS["final-date-reason"]) in wrong.content.decode()
    assert 'value="2027-03-01"' in wrong.content.decode(), "what was typed stays"
    assert client.post(url, asked | {"reason": "An earlier slot."}).status_code == 302
    assert "The Otter’s Clock" in client.get(reverse("reviews:plan", args=[cast.book.pk])).content.decode()


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.EDITOR, Role.AGENT])
def test_neither_the_other_side_nor_the_editor_changes_it(client, cast, role):
    sign_in(client, cast.seat(role).person)
    plan = client.get(reverse("reviews:plan", args=[cast.book.pk])).content.decode()
    assert reverse("reviews:change-book", args=[cast.book.pk]) not in plan
    assert client.get(reverse("reviews:change-book", args=[cast.book.pk])).status_code == 403
