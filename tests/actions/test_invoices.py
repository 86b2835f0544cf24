"""Invoices, payments and hours: nobody's figure moves by the other side's act alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from reviews.actions import hours, invoices
from reviews.models import Invoice, LedgerEntry, LetterAnswer, Notice, Payment, RoundHours
from reviews.pages.wording.ledger import sentence
from reviews.pages.wording.refusals import sentence_for
from reviews.queries.ledger_check import ledger_faults
from reviews.queries.reckoning import reckon_one
from reviews.rules.contract.fees import Money
from reviews.rules.contract.timeline import tell
from reviews.rules.entries import Entry
from reviews.rules.states import Refused, Role
from tests.actions.signed import a_round_more, enter
from tests.cast import gather
from tests.letter_scene import a_round, sent
from tests.makers import a_book

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast():
    cast = gather(a_book())
    enter(cast)
    return cast


def today():
    return timezone.localdate()


def told(cast, role=Role.ILLUSTRATOR, **changes) -> Invoice:
    given = {
        "number": "J-17", "name": "All of it", "money": Money(Decimal("9000.00"), "GBP"), "on": today(),
        "actor": cast.seat(role),
    }  # fmt: skip
    return invoices.tell_invoice(cast.book.pk, **(given | changes))


def account(cast):
    return reckon_one(cast.book, timezone.now()).statement.money


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT])
def test_the_side_that_is_owed_tells_an_invoice_and_the_other_is_told(cast, role):
    invoice = told(cast, role)
    entry = LedgerEntry.objects.get(book=cast.book, deed="invoice")
    assert sentence(entry.as_entry()).endswith("GBP 9,000.00 for “All of it”.")
    people = set(Notice.objects.filter(entry=entry).values_list("person", flat=True))
    assert cast.art_director.person_id in people and cast.seat(role).person_id not in people
    assert invoice.money == Money(Decimal("9000.00"), "GBP")
    assert not list(ledger_faults(cast.book))


@pytest.mark.parametrize("role", [Role.ART_DIRECTOR, Role.EDITOR, Role.PRODUCTION])
def test_nobody_of_the_publisher_tells_an_invoice_or_that_its_money_came(cast, role):
    with pytest.raises(Refused, match="not-yours"):
        told(cast, role)
    invoice = told(cast)
    with pytest.raises(Refused, match="not-yours"):
        invoices.confirm_payment(invoice.pk, today(), actor=cast.seat(role))


@pytest.mark.parametrize("role", [Role.ILLUSTRATOR, Role.AGENT, Role.EDITOR])
def test_only_the_art_director_says_that_it_was_paid(cast, role):
    invoice = told(cast)
    with pytest.raises(Refused, match="not-yours"):
        invoices.say_paid(invoice.pk, today(), actor=cast.seat(role))


def test_the_publishers_word_settles_nothing_until_the_other_side_has_the_money(cast):
    due = account(cast).balance
    invoice = told(cast)
    assert account(cast).balance == due == {"GBP": Decimal("9000.00")}
    invoices.say_paid(invoice.pk, today(), actor=cast.art_director)
    assert (account(cast).received, account(cast).balance) == ({}, due)
    invoices.confirm_payment(invoice.pk, today(), actor=cast.agent)
    assert account(cast).balance == {"GBP": Decimal("0.00")}
    assert not list(ledger_faults(cast.book))


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"number": "  "}, "invoice-number"),
        ({"money": Money(Decimal(0), "GBP")}, "invoice-of-nothing"),
        ({"money": Money(Decimal(-5), "GBP")}, "bad-amount"),
        ({"money": Money(Decimal("5.001"), "GBP")}, "bad-amount"),
        ({"money": Money(Decimal("10.5"), "JPY")}, "bad-decimals"),
        ({"money": Money(Decimal(5), "ZZZ")}, "bad-currency"),
        ({"name": "A cover"}, "invoice-for-what"),
        ({"on": timezone.localdate() + timedelta(2)}, "invoice-day-to-come"),
    ],
)
def test_an_invoice_that_cannot_be_is_refused_and_leaves_no_trace(cast, changes, code):
    with pytest.raises(Refused) as refused:
        told(cast, **changes)
    assert refused.value.code == code
    assert not Invoice.objects.exists() and not LedgerEntry.objects.filter(deed="invoice").exists()


def test_one_number_is_one_invoice_until_it_is_taken_back(cast):
    first = told(cast)
    with pytest.raises(Refused, match="invoice-twice"):
        told(cast)
    with pytest.raises(Refused, match="reason-missing"):
        invoices.withdraw_invoice(first.pk, " ", actor=cast.illustrator)
    invoices.withdraw_invoice(first.pk, "Wrong amount.", actor=cast.illustrator)
    assert account(cast).bills == ()
    assert told(cast).pk != first.pk
    with pytest.raises(Refused, match="invoice-gone"):
        invoices.say_paid(first.pk, today(), actor=cast.art_director)


def test_an_invoice_that_was_said_to_be_paid_is_not_taken_back(cast):
    invoice = told(cast)
    invoices.say_paid(invoice.pk, today(), actor=cast.art_director)
    for deed in (
        lambda: invoices.withdraw_invoice(invoice.pk, "No.", actor=cast.illustrator),
        lambda: invoices.say_paid(invoice.pk, today(), actor=cast.art_director),
    ):
        with pytest.raises(Refused, match="invoice-paid"):
            deed()


def pounds(amount: str) -> Decimal:
    return Decimal(amount)


def test_an_invoice_is_paid_in_parts_and_each_settles_what_it_is(cast):
    invoice = told(cast)
    first = today() - timedelta(3)
    invoices.say_paid(invoice.pk, first, pounds("4000"), actor=cast.art_director)
    invoices.confirm_payment(invoice.pk, first, pounds("4000"), actor=cast.agent)
    money = account(cast)
    assert (money.received, money.balance) == ({"GBP": pounds("4000")}, {"GBP": pounds("5000.00")})
    assert money.bills[0].received_on is None and money.bills[0].still_open.amount == 5000
    invoices.confirm_payment(invoice.pk, today(), actor=cast.agent)
    money = account(cast)
    assert money.balance == {"GBP": pounds("0.00")}
    assert (money.bills[0].received_on, money.bills[0].paid_on) == (today(), None)
    assert [one.money.amount for one in money.bills[0].received] == [4000, 5000]
    told_words = [sentence(row.as_entry()) for row in LedgerEntry.objects.filter(deed="confirm-payment")]
    assert "GBP 4,000.00 of invoice J-17 came on" in told_words[0]
    assert not list(ledger_faults(cast.book))


def test_each_side_takes_back_its_own_word_and_the_account_stands_as_before(cast):
    due = account(cast).balance
    invoice = told(cast)
    said = invoices.say_paid(invoice.pk, today(), pounds("100"), actor=cast.art_director)
    came = invoices.confirm_payment(invoice.pk, today(), pounds("9000"), actor=cast.illustrator)
    with pytest.raises(Refused, match="payment-not-yours"):
        invoices.withdraw_payment(said.pk, "Not true.", actor=cast.illustrator)
    with pytest.raises(Refused, match="payment-not-yours"):
        invoices.withdraw_payment(came.pk, "Not true.", actor=cast.art_director)
    with pytest.raises(Refused, match="not-yours"):
        invoices.withdraw_payment(came.pk, "Not true.", actor=cast.seat(Role.EDITOR))
    with pytest.raises(Refused, match="reason-missing"):
        invoices.withdraw_payment(came.pk, "  ", actor=cast.agent)
    invoices.withdraw_payment(came.pk, "That was another book's.", actor=cast.agent)
    assert (account(cast).received, account(cast).balance) == ({}, due)
    assert account(cast).unconfirmed == {"GBP": pounds("100")}
    invoices.withdraw_payment(said.pk, "Slip of the pen.", actor=cast.art_director)
    with pytest.raises(Refused, match="payment-gone"):
        invoices.withdraw_payment(said.pk, "Again.", actor=cast.art_director)
    money = account(cast)
    assert (money.balance, money.unconfirmed) == (due, {})
    last = LedgerEntry.objects.filter(book=cast.book).order_by("-seq").first()
    assert sentence(last.as_entry()).endswith(": Slip of the pen.") and "took back that GBP 100" in sentence(
        last.as_entry()
    )
    people = set(Notice.objects.filter(entry=last).values_list("person", flat=True))
    assert {cast.illustrator.person_id, cast.agent.person_id} <= people
    invoices.withdraw_invoice(invoice.pk, "Wrong number.", actor=cast.agent)
    assert not list(ledger_faults(cast.book))


def test_more_than_the_invoice_is_taken_only_when_it_is_said_and_is_not_lost(cast):
    invoice = told(cast)
    with pytest.raises(Refused, match="payment-beyond") as refused:
        invoices.confirm_payment(invoice.pk, today(), pounds("9050"), actor=cast.agent)
    assert refused.value.values["left"] == 9000
    assert "GBP 9000.00 left" in sentence_for(refused.value)
    invoices.confirm_payment(invoice.pk, today(), pounds("9050"), beyond=True, actor=cast.agent)
    money = account(cast)
    assert (money.balance, money.overpaid) == ({"GBP": pounds("-50.00")}, {"GBP": pounds("50.00")})
    assert money.bills[0].over.amount == 50


@pytest.mark.parametrize(
    ("amount", "code"),
    [("0", "payment-of-nothing"), ("-5", "bad-amount"), ("5.001", "bad-amount"), ("NaN", "bad-amount")],
)
def test_a_sum_that_cannot_be_is_refused(cast, amount, code):
    invoice = told(cast)
    with pytest.raises(Refused, match=code):
        invoices.say_paid(invoice.pk, today(), Decimal(amount), actor=cast.art_director)
    assert not Payment.objects.exists()


def test_what_was_told_before_parts_could_be_is_of_the_whole_and_can_be_taken_back(cast):
    """As an older book brings it: an entry without a sum, and the row that the migration made for it."""
    invoice = told(cast)
    came = invoices.confirm_payment(invoice.pk, today(), actor=cast.agent)
    entries = list(LedgerEntry.objects.filter(book=cast.book).order_by("seq"))
    old = [row.as_entry() for row in entries]
    of_before = replace(old[-1], data={name: old[-1].data[name] for name in ("invoice", "number", "on")})
    story = tell([*old[:-1], of_before])
    assert story.bills[invoice.pk].received_sum == invoice.money and not story.bills[invoice.pk].is_in_parts
    assert "the money of invoice J-17 came on" in sentence(of_before)
    back = Entry(
        seq=of_before.seq + 1, at=of_before.at, deed="withdraw-payment", role="agent", by="Orla", passage=None,
        data={"payment": came.pk, "invoice": invoice.pk, "number": "J-17", "said": "received", "on": "2026-01-01",
              "money": {"amount": "9000.00", "currency": "GBP"}, "told": of_before.seq, "reason": "Not ours."},
    )  # fmt: skip
    assert tell([*old[:-1], of_before, back]).bills[invoice.pk].received == ()


@pytest.fixture
def hourly():
    """A round beyond the fee that is paid by the hour."""
    cast = gather(a_book())
    enter(cast, round_fee=None, hour_fee=Money(Decimal(60), "GBP"))
    passage = cast.passage("Pages 4–5", "ideas")
    a_round(cast, passage, 1)
    a_round_more(cast, passage)
    letter = sent(cast, over=True)
    return cast, letter.answers.get()


def test_hours_count_once_both_sides_have_said_them(hourly):
    cast, answer = hourly
    hours.tell_hours(answer.pk, Decimal("6.5"), actor=cast.illustrator)
    assert account(cast).extra_owed == {}
    hours.agree_hours(answer.pk, Decimal("6.5"), actor=cast.art_director)
    assert account(cast).extra_owed == {"GBP": Decimal("390.00")}
    assert not list(ledger_faults(cast.book))


def test_hours_that_changed_under_the_hand_are_not_agreed_to(hourly):
    cast, answer = hourly
    hours.tell_hours(answer.pk, Decimal("6.5"), actor=cast.illustrator)
    hours.tell_hours(answer.pk, Decimal(65), actor=cast.illustrator)
    with pytest.raises(Refused, match="hours-changed"):
        hours.agree_hours(answer.pk, Decimal("6.5"), actor=cast.art_director)
    hours.agree_hours(answer.pk, Decimal(65), actor=cast.art_director)
    with pytest.raises(Refused, match="hours-agreed"):
        hours.tell_hours(answer.pk, Decimal(70), actor=cast.illustrator)
    assert RoundHours.objects.get().hours == 65


@pytest.mark.parametrize("wrong", [Decimal(0), Decimal(-1), Decimal("1.234"), Decimal(1001), Decimal("NaN")])
def test_hours_that_cannot_be_are_refused(hourly, wrong):
    cast, answer = hourly
    with pytest.raises(Refused, match="bad-hours"):
        hours.tell_hours(answer.pk, wrong, actor=cast.illustrator)


def test_a_round_in_the_fee_takes_no_hours(hourly):
    cast, answer = hourly
    first = LetterAnswer.objects.exclude(pk=answer.pk).get(letter__sent_at__isnull=False)
    with pytest.raises(Refused, match="hours-not-priced"):
        hours.tell_hours(first.pk, Decimal(3), actor=cast.illustrator)
    with pytest.raises(Refused, match="not-yours"):
        hours.agree_hours(answer.pk, Decimal(3), actor=cast.illustrator)


def test_hours_in_tens_are_told_in_plain_figures(hourly):
    cast, answer = hourly
    hours.tell_hours(answer.pk, Decimal(20), actor=cast.illustrator)
    hours.agree_hours(answer.pk, Decimal("20.00"), actor=cast.art_director)
    for deed in ("tell-hours", "agree-hours"):
        entry = LedgerEntry.objects.get(book=cast.book, deed=deed)
        assert entry.data["hours"] == "20"
        assert " 20 hours" in sentence(entry.as_entry())
    assert account(cast).extra_owed == {"GBP": Decimal("1200.00")}
