"""A ready set that is chosen fills the form, whatever was typed into it before; both are offered."""

from typing import Any

import pytest

from tests.cast import gather
from tests.makers import a_book

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

DAYS = "input[name=all-sketch-hand_in_days]"


def unfolded(page: Any) -> Any:
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    return page.locator(DAYS)


def test_words_typed_before_do_not_override_the_set_and_are_offered_back(visit, live_server):
    cast = gather(a_book())
    there = f"/books/{cast.book.pk}/terms/"
    page = visit(cast.art_director.person, there)
    unfolded(page).fill("77")
    page.goto(f"{live_server.url}{there}?start=illustrator#enter-form")
    assert unfolded(page).input_value() == "20"
    line = page.get_by_text("You typed other figures into this form before")
    assert line.is_visible()
    page.get_by_role("link", name="Go back to what you typed").click()
    page.wait_for_url(f"**{there}#enter-form")
    assert unfolded(page).input_value() == "77"
    assert page.problems == []


def test_nothing_is_said_of_words_that_nobody_typed(visit, live_server):
    cast = gather(a_book())
    page = visit(cast.art_director.person, f"/books/{cast.book.pk}/terms/?start=illustrator")
    assert unfolded(page).input_value() == "20"
    assert page.get_by_text("You typed other figures into this form before").is_hidden()


def test_what_is_typed_over_a_set_comes_back_with_that_set(visit, live_server):
    cast = gather(a_book())
    there = f"{live_server.url}/books/{cast.book.pk}/terms/?start=illustrator"
    page = visit(cast.art_director.person, f"/books/{cast.book.pk}/terms/?start=illustrator")
    unfolded(page).fill("33")
    page.goto(there)
    assert unfolded(page).input_value() == "33"
