"""On a phone no page is taller than eight screens without an index in view; a date of another year carries it."""

from __future__ import annotations

import datetime
import os
from typing import Any

import pytest
from django.template import Context, Template
from django.urls import reverse
from django.utils import timezone

from tests.cast import gather
from tests.letter_scene import a_round, pinned
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SHOTS = os.environ.get("DRAFT_SHOTS")  # a folder: keep the pages that were looked at
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
MOST_SCREENS = 8


@pytest.fixture
def cast() -> Any:
    cast = gather(a_book(n_pages=32))
    for seed, label in enumerate(("Pages 4–5", "Pages 6–7", "Pages 8–9")):
        a_round(cast, cast.passage(label, "ideas"), seed)
    return cast


def screens(page: Any) -> float:
    return page.evaluate("document.documentElement.scrollHeight / window.innerHeight")


def test_every_page_of_a_book_is_short_or_has_an_index(cast: Any, visit: Any) -> None:
    page = visit(cast.art_director.person, reverse("reviews:desk"), has_pictures=False, **PHONE)
    base = page.url.split("/", 3)
    tall = []
    for name in ("book-map", "account", "statement", "terms", "ledger", "schedule", "letters", "draft-letter", "seats"):
        page.goto("/".join(base[:3]) + reverse(f"reviews:{name}", args=[cast.book.pk]))
        page.wait_for_load_state("networkidle")
        has_index = page.locator(".page-index, .working-down").count() == 1
        if screens(page) > MOST_SCREENS:
            tall.append(name)
            assert has_index, f"{name} has {screens(page):.1f} screens and no index"
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, name
        if SHOTS and has_index:
            page.screenshot(path=f"{SHOTS}/long-{name}.png")
    assert tall, "else this measures nothing"
    assert page.problems == []


def test_the_sheet_to_send_on_hides_no_line_on_a_phone(cast: Any, visit: Any) -> None:
    page = visit(cast.agent.person, reverse("reviews:statement-sheet", args=[cast.book.pk]), **PHONE)
    lines = page.locator(".sheet-lines tbody tr")
    assert lines.count() == 10
    assert all(lines.nth(n).is_visible() for n in range(10))
    assert page.evaluate("document.querySelector('.sheet-lines').scrollWidth <= document.documentElement.clientWidth")


def test_the_index_stays_in_view_says_where_one_is_and_leads_there(cast: Any, visit: Any) -> None:
    page = visit(cast.art_director.person, reverse("reviews:statement", args=[cast.book.pk]), **PHONE)
    index = page.locator(".page-index")
    page.evaluate("window.scrollTo(0, document.documentElement.scrollHeight)")
    assert index.evaluate("nav => nav.getBoundingClientRect().top") == 0
    page.wait_for_function("document.querySelector('.page-index summary span').textContent")
    index.locator("summary").click()
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/long-open.png")
    index.get_by_role("link", name="Whose days").click()
    page.wait_for_function("Math.abs(document.querySelector('#days').getBoundingClientRect().top) < 200")
    top = page.locator("#days").evaluate("part => part.getBoundingClientRect().top")
    assert top >= index.evaluate("nav => nav.getBoundingClientRect().bottom"), "the part is not under the index"
    assert not index.locator("ol").is_visible(), "the index closes behind one"
    assert index.evaluate("nav => getComputedStyle(nav).position") == "sticky"


def test_a_long_table_folds_on_a_phone_and_opens_by_one_tap_or_a_way_into_it(cast: Any, visit: Any) -> None:
    address = reverse("reviews:statement", args=[cast.book.pk])
    page = visit(cast.art_director.person, address, **PHONE)
    folded = screens(page)
    buttons = page.get_by_role("button", name="Show all of this table")
    assert buttons.count() >= 1
    while buttons.count():
        buttons.first.click()
    assert screens(page) > folded
    wide = visit(cast.art_director.person, address)
    assert wide.get_by_role("button", name="Show all of this table").count() == 0, "a desk has the room"


def test_the_ledger_folds_on_a_phone_and_a_way_to_one_of_its_lines_unfolds_it(cast: Any, visit: Any) -> None:
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [9])
    for n in range(30):
        pinned(cast.passage("Pages 4–5", "ideas"), cast.art_director, f"Note {n}.")
    address = reverse("reviews:ledger", args=[cast.book.pk])
    page = visit(cast.art_director.person, address, **PHONE)
    lines = page.locator(".ledger-line")
    n_lines = lines.count()
    assert n_lines > 40, "else this tests nothing"
    assert lines.last.is_hidden()
    folded = screens(page)
    page.get_by_role("button", name="Show all lines").click()
    assert lines.last.is_visible() and screens(page) > 1.2 * folded
    last = lines.last.get_attribute("id")
    page.goto("about:blank")
    pointed = visit(cast.art_director.person, f"{address}#{last}", **PHONE)
    assert pointed.locator(".ledger-line").last.is_visible(), "what an address points at is not folded away"
    wide = visit(cast.art_director.person, address)
    assert wide.locator(".ledger-line").last.is_visible()


@pytest.mark.parametrize(("years", "shown"), [(0, ""), (1, "next"), (-1, "last")])
def test_a_date_of_another_year_carries_it(years: int, shown: str) -> None:
    today = timezone.localdate()
    day = datetime.date(today.year + years, 4, 29)
    words = Template('{% load words %}{{ day|near:"D j M" }}').render(Context({"day": day}))
    assert words.endswith(str(day.year)) == bool(shown)
    assert "29 Apr" in words
