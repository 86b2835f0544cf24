"""The decimals of currencies beside the list that the maintenance agency of ISO 4217 publishes.

The package ``iso4217`` carries that list as it was published (list one, "current currency and funds codes").
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from iso4217 import Currency, raw_xml

from reviews.forms.terms import CURRENCIES
from reviews.rules.contract.currencies import DECIMALS, MOST_DECIMALS
from reviews.rules.contract.money import check_entered
from reviews.rules.contract.terms import Money, check_terms
from reviews.rules.states import Refused
from tests.rules.ledgers import plain_terms

#: Left out by us too: what has no minor unit in the list is no money to be paid in.
PUBLISHED = {currency.code: currency.exponent for currency in Currency if currency.exponent is not None}


def test_every_currency_has_the_decimals_of_the_published_list():
    """A later list may add a currency or take one away: it is then a line of ours, and this says which."""
    assert raw_xml.attrib["Pblshd"] >= "2026-01-01"
    assert len(PUBLISHED) > 150
    assert DECIMALS == PUBLISHED
    assert max(PUBLISHED.values()) == MOST_DECIMALS


def test_what_the_list_gives_no_minor_unit_is_no_money_here():
    without = {currency.code for currency in Currency if currency.exponent is None}
    assert {"XAU", "XTS", "XDR"} <= without
    assert without.isdisjoint(DECIMALS)


def test_the_currencies_that_the_form_offers_are_in_the_list():
    assert {code for code, _ in CURRENCIES} <= set(PUBLISHED)


@pytest.mark.parametrize("code", sorted(PUBLISHED))
def test_the_smallest_coin_of_each_is_taken_and_a_tenth_of_it_is_not(code):
    coin = Decimal(1).scaleb(-PUBLISHED[code])
    check_terms(plain_terms(fee=Money(1000 + coin, code)))
    check_entered(plain_terms(fee=Money(1000 + coin, code)))
    with pytest.raises(Refused) as refused:
        check_terms(plain_terms(fee=Money(1000 + coin / 10, code)))
        check_entered(plain_terms(fee=Money(1000 + coin / 10, code)))
    assert refused.value.code in ("bad-amount", "bad-decimals")


@pytest.mark.parametrize(("amount", "code", "is_taken"), [("1000.50", "JPY", False), ("1000.125", "KWD", True)])
def test_half_a_yen_is_refused_and_a_fils_is_taken(amount, code, is_taken):
    terms = plain_terms(fee=Money(Decimal(amount), code))
    if is_taken:
        check_entered(terms)
        return
    with pytest.raises(Refused, match="bad-decimals"):
        check_entered(terms)
