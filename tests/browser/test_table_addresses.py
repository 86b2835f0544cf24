"""What lies open on the table has an address, and the browser's Back closes it instead of leaving."""

from typing import Any

import pytest

from tests.browser.hands import until
from tests.browser.test_changes import compared, rail, table  # noqa: F401
from tests.cast import gather
from tests.makers import a_book, handed_in

pytestmark = [
    pytest.mark.browser, pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("comparisons_made_once")
]  # fmt: skip


@pytest.fixture
def options():
    """Two options wait, and a guest is asked about them."""
    cast = gather(a_book())
    passage = cast.passage("Cover", "ideas")
    hand_in = handed_in(passage, cast.illustrator, [1, 2])
    return cast, passage, [picture.pk for picture in hand_in.pictures.order_by("position")]


def test_back_from_an_opened_option_shows_all_of_them_again(visit: Any, options: Any):
    cast, passage, (first, second) = options
    guest = cast.invite_guest(passage)
    page = visit(guest.person, f"/passages/{passage.pk}/", has_pictures=False)
    page.locator(f".option [data-show-picture='{first}']").click()
    assert page.url.endswith(f"#picture-{first}")
    page.locator(f".contact[data-show-picture='{second}']").click()
    assert page.url.endswith(f"#picture-{second}")
    page.go_back()
    until(page, lambda: page.locator("[data-review-table]").get_attribute("data-showing") == "all")
    assert page.url.endswith(f"/passages/{passage.pk}/")
    page.go_forward()
    until(page, lambda: page.locator("[data-review-table]").get_attribute("data-showing") == "one")
    page.get_by_role("button", name="All side by side").click()
    until(page, lambda: page.locator("[data-review-table]").get_attribute("data-showing") == "all")
    assert "#" not in page.url


def test_an_opened_option_is_opened_by_its_address(visit: Any, options: Any):
    cast, passage, (_, second) = options
    page = visit(cast.editor.person, f"/passages/{passage.pk}/#picture-{second}", has_pictures=False)
    assert page.locator("[data-review-table]").get_attribute("data-showing") == "one"
    assert page.locator(f"[data-caption-of='{second}']").is_visible()


def test_back_closes_the_place_and_then_lifts_the_earlier_version(compared: Any):  # noqa: F811
    page = compared.sit_down(compared.cast.art_director)
    rail(page).get_by_role("button", name="Overlay hand-in 1").click()
    until(page, lambda: "#over-" in page.url)
    page.get_by_role("button", name="Next place").click()
    until(page, lambda: ",place-" in page.url)
    there = page.url
    page.go_back()
    until(page, lambda: "place-" not in page.url)
    until(page, lambda: page.locator(".place-tag.chosen").count() == 0)
    assert page.locator(".tracing-sheet").count() == 1
    page.go_back()
    until(page, lambda: page.locator(".tracing-sheet").count() == 0)
    assert page.url.endswith(f"/passages/{compared.passage.pk}/")
    page.goto("about:blank")
    page.goto(there)
    rail(page)
    until(page, lambda: page.locator(".tracing-sheet").count() == 1)
    until(page, lambda: page.locator(".place-tag.chosen").count() == 1)
    assert page.problems == []
