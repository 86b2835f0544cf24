"""A day that the count uses is the same on every screen: that of the book's own time zone, not of the machine."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from html import unescape

import pytest
from django.urls import reverse

from reviews.actions.clock import as_if_at
from reviews.models import Letter
from tests.accounts import statement_of
from tests.actions.test_terms import enter
from tests.cast import gather, sign_in
from tests.letter_scene import a_round, approved
from tests.makers import a_book

pytestmark = pytest.mark.django_db

#: Half past eleven in the evening of Monday 9 November in London is Tuesday morning in Tokyo.
AT = datetime(2026, 11, 9, 23, 30, tzinfo=UTC)


@pytest.fixture(params=[("UTC", 9), ("Asia/Tokyo", 10)], ids=["utc", "tokyo"])
def seen(request):
    zone, day = request.param
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        cast = gather(a_book())
        enter(cast, zone=zone)
    with as_if_at(AT):
        a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
        approved(cast, cast.passage("Pages 6–7", "ideas"), 2)
    return cast, day


def read(client, name, pk):
    return " ".join(re.sub(r"<[^>]+>", " ", unescape(client.get(reverse(name, args=[pk])).content.decode())).split())


def test_letter_list_ledger_and_account_say_the_day_that_is_counted(seen, client):
    cast, day = seen
    letter = Letter.objects.get(book=cast.book, number=1)
    rounds = statement_of(cast.book, date(2026, 11, 20)).rounds.rounds
    assert [one.on for one in rounds] == [date(2026, 11, day)]
    sign_in(client, cast.illustrator.person)
    weekday = {9: "Monday", 10: "Tuesday"}[day]
    other = {9: 10, 10: 9}[day]
    assert f"{weekday}, {day} November 2026" in read(client, "reviews:letter", letter.pk)
    assert f"{day} November 2026" in read(client, "reviews:letters", cast.book.pk)
    ledger = read(client, "reviews:ledger", cast.book.pk)
    assert f"{weekday}, {day} November 2026" in ledger
    assert f"{other} November 2026" not in ledger
    account = read(client, "reviews:account", cast.book.pk)
    assert f"Approved {day} Nov 2026" in account
    assert f"since {day} Nov 2026" in account
