"""Whatever a message or a list offers to be chosen is accepted when somebody types it."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from reviews.forms.invoices import HoursForm
from reviews.forms.where import PlaceField, ZoneField, known_zones, offered
from reviews.pages.closed_days import closed_days_of
from reviews.pages.wording.refusals import REFUSALS
from reviews.rules.contract.fees import check_amount, check_payable
from reviews.rules.contract.terms import Money
from reviews.rules.page_names import pages_named


def refused(field, typed: str) -> str:
    with pytest.raises(ValidationError) as told:
        field.clean(typed)
    return told.value.messages[0]


@pytest.mark.parametrize("typed", ["United Kingdom", "gb", "La Rioja", "Santa Cruz", "santa catarina", "La Paz"])
def test_each_place_that_a_refusal_offers_is_accepted(typed):
    field = PlaceField("Where")
    choices = refused(field, typed).partition("these: ")[2].rstrip(".").split("; ")
    assert len(choices) > 1
    codes = {field.clean(choice) for choice in choices}
    assert len(codes) == len(choices) and "" not in codes


def test_a_place_that_is_not_known_is_refused_with_one_that_is():
    said = refused(PlaceField("Where"), "Atlantis")
    example = re.search("for instance “(.+?)”", said).group(1)
    assert PlaceField("Where").clean(example) == "GB-ENG"
    zone = re.search("for instance “(.+?)”", refused(ZoneField("Zone"), "Atlantis")).group(1)
    assert ZoneField("Zone").clean(zone) == "Europe/London"


def test_a_part_of_a_country_is_found_by_its_own_name():
    field = PlaceField("Where")
    assert [field.clean(name) for name in ("England", " scotland ", "Bayern", "New York")] == [
        "GB-ENG", "GB-SCT", "DE-BY", "US-NY",
    ]  # fmt: skip
    assert field.clean("Georgia") == "GE", "a country comes before a part of another"


def test_the_next_closed_days_are_shown_of_the_same_places():
    assert closed_days_of("England", date(2026, 3, 2)).name == "England, United Kingdom"
    assert closed_days_of("La Rioja", date(2026, 3, 2)).alike == ("La Rioja, Argentina", "La Rioja, Spain")
    assert closed_days_of("Atlantis", date(2026, 3, 2)).alike == ()


def test_each_place_and_zone_of_the_lists_is_accepted():
    place, zone = PlaceField("Where"), ZoneField("Zone")
    lists = offered()
    assert all(place.clean(one.name) == one.code for one in lists["places"])
    assert all(zone.clean(name) == code for code, name in known_zones())
    assert (len(lists["places"]), len(lists["zones"])) > (500, 300)


def test_examples_of_figures_in_refusals_can_be_read():
    hours = re.search(r"such as ([\d.]+) or ([\d.]+),", str(REFUSALS["bad-hours"])).groups()
    assert all(HoursForm({"hours": one}).is_valid() for one in hours)
    amounts = re.search(r"such as ([\d.]+) or ([\d.]+),", str(REFUSALS["bad-amount"])).groups()
    currencies = re.search(r"such as (\w+) or (\w+)\.", str(REFUSALS["bad-currency"])).groups()
    for code in currencies:
        for amount in amounts:
            check_amount(Money(Decimal(amount), code))
            check_payable(Money(Decimal(amount), code))
    pages = re.search(r"such as (.+?); “(\w+)”", str(REFUSALS["note-pages"])).groups()
    assert pages_named(pages[0]).pages == {4, 5, 8}
    assert pages_named(pages[1]).cover
