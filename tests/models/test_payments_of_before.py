"""A book whose invoices were told as paid whole, or not at all, keeps what both sides had said."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from reviews.actions import invoices
from reviews.models import LedgerEntry, Payment
from reviews.rules.contract.fees import Money
from tests.actions.signed import enter
from tests.cast import gather
from tests.makers import a_book

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]

BEFORE = ("reviews", "0057_reading_asks")


@pytest.fixture
def newest():
    """Give the way to the newest tables, and leave them so."""
    leaves = MigrationExecutor(connection).loader.graph.leaf_nodes("reviews")
    yield lambda: MigrationExecutor(connection).migrate(leaves)
    MigrationExecutor(connection).migrate(leaves)


def test_what_was_paid_whole_becomes_one_payment_of_each_sides_word(newest):
    cast = gather(a_book())
    enter(cast)
    today = timezone.localdate()
    told = {
        number: invoices.tell_invoice(
            cast.book.pk, number=number, name="", money=Money(Decimal(700), "GBP"), on=today, actor=cast.agent
        ).pk
        for number in ("unpaid", "said", "came")
    }
    for number in ("said", "came"):
        invoices.say_paid(told[number], today, actor=cast.art_director)
    at = LedgerEntry.objects.get(deed="say-paid", data__number="said").at

    executor = MigrationExecutor(connection)
    executor.migrate([BEFORE])
    rows = executor.loader.project_state([BEFORE]).apps.get_model("reviews", "Invoice").objects
    day = today - timedelta(2)
    rows.filter(pk__in=[told["said"], told["came"]]).update(paid_on=day, paid_by=cast.art_director.pk)
    rows.filter(pk=told["came"]).update(received_on=today, received_by=cast.illustrator.pk)

    newest()

    found = {(one.invoice_id, one.said): one for one in Payment.objects.all()}
    assert set(found) == {(told["said"], "paid"), (told["came"], "paid"), (told["came"], "received")}
    said, came = found[told["said"], "paid"], found[told["came"], "received"]
    assert (said.amount, said.on, said.told_by_id, said.told_at) == (700, day, cast.art_director.pk, at)
    assert (came.amount, came.on, came.told_by_id) == (700, today, cast.illustrator.pk)
    assert all(one.of_before and one.taken_back_at is None for one in found.values())
