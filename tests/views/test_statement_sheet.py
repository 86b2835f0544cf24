"""The one page to send on, and what is told of money on the statement."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions import invoices
from reviews.models import Invoice, Payment
from reviews.pages.statement import statement_page
from reviews.pages.statement_sheet import TenLines
from reviews.rules.contract.fees import Money
from reviews.rules.states import Role
from tests.actions.signed import enter
from tests.cast import gather, sign_in
from tests.letter_scene import a_round
from tests.makers import a_book

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    cast = gather(a_book())
    enter(cast)
    a_round(cast, cast.passage("Pages 4–5", "ideas"), 1)
    return cast


def test_ten_lines_say_what_was_agreed_used_and_owed_with_the_lines_behind(cast):
    sheet = TenLines(statement_page(cast.book, Role.AGENT, at=timezone.now()))
    rows = {row.about: row for row in sheet.rows}
    assert len(rows) == 10
    assert "fee GBP 9,000.00" in rows["Agreed"].words and rows["Agreed"].lines
    assert rows["Rounds used"].words.startswith("1 of those in the fee, 0 extra")
    assert rows["Fallen due by instalments"].words.startswith("GBP 9,000.00, the last since ")
    assert rows["Owed, and not told as received"].words.startswith("GBP 9,000.00")
    assert rows["Late"].words == "nothing was late"
    assert rows["Owed in all if the book were cancelled"].words == "the terms do not say"


@pytest.mark.parametrize("role", [Role.AGENT, Role.ILLUSTRATOR, Role.ART_DIRECTOR])
def test_the_page_and_its_paper_open_and_defer_to_the_contract(cast, client, role):
    sign_in(client, cast.seat(role).person)
    page = client.get(reverse("reviews:statement-sheet", args=[cast.book.pk]))
    body = page.content.decode()
    assert page.status_code == 200 and "signed contract" in body and "Rounds used" in body
    paper = client.get(reverse("reviews:statement-sheet-paper", args=[cast.book.pk]))
    assert paper.content.startswith(b"%PDF") and paper.content.count(b"/Type /Page\n") == 1


def test_an_invoice_goes_from_the_agent_to_the_art_director_and_back(cast, client):
    day = timezone.localdate().isoformat()
    given = {"number": "R-7", "name": "All of it", "amount": "9000.00", "currency": "gbp", "on": day}
    sign_in(client, cast.agent.person)
    assert client.post(reverse("reviews:tell-invoice", args=[cast.book.pk]), given).status_code == 302
    told = Invoice.objects.get()
    sign_in(client, cast.art_director.person)
    statement = reverse("reviews:statement", args=[cast.book.pk])
    assert "Say that it was paid" in client.get(statement).content.decode()
    client.post(reverse("reviews:say-paid", args=[told.pk]), {"on": day})
    sign_in(client, cast.agent.person)
    body = client.get(statement).content.decode()
    assert "The publisher says paid; receipt not told yet" in body and "Say that it came" in body
    client.post(reverse("reviews:confirm-payment", args=[told.pk]), {"on": day})
    body = client.get(statement).content.decode()
    assert "R-7: Received" in body and "or paid twice?" in body


def test_parts_and_a_disagreement_are_told_on_the_page_of_both(cast, client):
    day = timezone.localdate().isoformat()
    told = invoices.tell_invoice(
        cast.book.pk, number="R-8", name="All of it", money=Money(Decimal(9000), "GBP"), on=timezone.localdate(),
        actor=cast.agent,
    )  # fmt: skip
    statement = reverse("reviews:statement", args=[cast.book.pk])
    sign_in(client, cast.art_director.person)
    client.post(reverse("reviews:say-paid", args=[told.pk]), {"on": day, "amount": "5000"})
    sign_in(client, cast.agent.person)
    client.post(reverse("reviews:confirm-payment", args=[told.pk]), {"on": day, "amount": "4000"})
    for member in (cast.agent, cast.art_director):
        sign_in(client, member.person)
        body = " ".join(client.get(statement).content.decode().split())
        assert "The two sides differ: GBP 5,000.00 paid, says the publisher; GBP 4,000.00 received." in body
        assert "Said to be paid by the publisher, and not told as received" in body and "GBP 1,000.00" in body
    payment = Payment.objects.get(said="received")
    url = reverse("reviews:withdraw-payment", args=[payment.pk])
    assert url not in body  # the other side's word offers nothing to take back
    refused = client.post(url, {"because": "No."})
    assert refused.status_code in (302, 409) and Payment.objects.get(pk=payment.pk).taken_back_at is None
    sign_in(client, cast.agent.person)
    assert url in client.get(statement).content.decode()
    client.post(url, {"because": "It was another book's."})
    body = " ".join(client.get(statement).content.decode().split())
    assert "The publisher says GBP 5,000.00 paid; receipt not told yet" in body


@pytest.mark.parametrize("wrong", [{"amount": "much"}, {"number": ""}, {"on": "tomorrow"}, {}])
def test_a_form_that_cannot_be_read_gets_a_sentence(cast, client, wrong):
    sign_in(client, cast.agent.person)
    given = {"number": "R-7", "name": "", "amount": "10", "currency": "GBP", "on": timezone.localdate().isoformat()}
    response = client.post(reverse("reviews:tell-invoice", args=[cast.book.pk]), given | wrong if wrong else {})
    assert response.status_code in (302, 409, 422) and not Invoice.objects.exists()


def test_a_past_day_offers_nothing_to_tell(cast, client):
    sign_in(client, cast.agent.person)
    yesterday = (timezone.localdate() - timedelta(1)).isoformat()
    body = client.get(reverse("reviews:statement", args=[cast.book.pk]), {"as_of": yesterday}).content.decode()
    assert "Tell this invoice" not in body
