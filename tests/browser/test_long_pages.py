"""On a phone no page is taller than eight screens without an index in view; a date of another year carries it."""

from __future__ import annotations

import datetime
import os
from typing import Any

import pytest
from django.template import Context, Template
from django.urls import reverse
from django.utils import timezone

from reviews.models import Letter
from tests.browser.hands import until
from tests.cast import gather
from tests.letter_scene import a_round, pinned
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SHOTS = os.environ.get("DRAFT_SHOTS")  # a folder: keep the pages that were looked at
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
MOST_SCREENS = 8
OF_A_BOOK = (
    "book-map", "account", "statement", "terms", "ledger", "schedule", "letters", "draft-letter", "seats", "plan",
    "print", "proposals", "book-brief", "measured-proofs", "wall", "change-book",
)  # fmt: skip


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
    of_the_book = [reverse(f"reviews:{name}", args=[cast.book.pk]) for name in OF_A_BOOK]
    elsewhere = [reverse("reviews:desk"), reverse("reviews:own-page"), reverse("reviews:new-book")]
    asked = [f"{reverse('reviews:terms', args=[cast.book.pk])}?{what}=trade" for what in ("look", "start")]
    letter = reverse("reviews:letter", args=[Letter.objects.get(number=1).pk])
    for name in (*of_the_book, *elsewhere, *asked, f"{reverse('reviews:account', args=[cast.book.pk])}?all=1", letter):
        page.goto("/".join(base[:3]) + name)
        has_index = page.locator(".page-index, .working-down").count() == 1
        if screens(page) > MOST_SCREENS:
            tall.append(name)
            assert has_index, f"{name} has {screens(page):.1f} screens and no index"
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, name
        if SHOTS and has_index:
            page.screenshot(path=f"{SHOTS}/long-{name.strip('/').replace('/', '-')}.png")
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
    for part in ("Rounds", "Whose days"):
        page.get_by_role("button", name=f"Show this part: {part}").click()
    page.evaluate("window.scrollTo(0, document.documentElement.scrollHeight)")
    assert index.evaluate("nav => nav.getBoundingClientRect().top") == 0
    until(page, lambda: index.locator("summary span").text_content() != "")
    index.locator("summary").click()
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/long-open.png")
    index.get_by_role("link", name="Whose days").click()
    top_of = "part => part.getBoundingClientRect().top"
    until(page, lambda: abs(page.locator("#days").evaluate(top_of)) < 200)
    top = page.locator("#days").evaluate(top_of)
    assert top >= index.evaluate("nav => nav.getBoundingClientRect().bottom"), "the part is not under the index"
    assert not index.locator("ol").is_visible(), "the index closes behind one"
    assert index.evaluate("nav => getComputedStyle(nav).position") == "sticky"


def test_a_long_table_folds_on_a_phone_and_opens_by_one_tap_or_a_way_into_it(cast: Any, visit: Any) -> None:
    address = reverse("reviews:statement", args=[cast.book.pk])
    page = visit(cast.art_director.person, address, **PHONE)
    for part in ("Rounds", "Whose days"):
        page.get_by_role("button", name=f"Show this part: {part}").click()
    folded = screens(page)
    buttons = page.get_by_role("button", name="Show all of this table")
    assert buttons.count() >= 1
    while buttons.count():
        buttons.first.click()
    assert screens(page) > folded
    wide = visit(cast.art_director.person, address)
    assert wide.get_by_role("button", name="Show all of this table").count() == 0, "a desk has the room"


def test_the_parts_of_a_long_page_fold_behind_their_heads_and_a_way_into_one_opens_it(cast: Any, visit: Any) -> None:
    address = reverse("reviews:statement", args=[cast.book.pk])
    page = visit(cast.art_director.person, address, **PHONE)
    table = page.get_by_role("region", name="Rounds by spread")
    assert screens(page) < MOST_SCREENS / 2 and table.is_hidden()
    button = page.get_by_role("button", name="Show this part: Rounds")
    button.click()
    assert table.is_visible()
    page.get_by_role("button", name="Fold this part: Rounds").click()
    assert table.is_hidden() and button.get_attribute("aria-expanded") == "false"
    page.locator("dl.sums").get_by_role("link", name="spread-days, by stage and spread").click()
    page.get_by_role("button", name="Fold this part: Whose days").wait_for()
    page.emulate_media(media="print")
    page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert table.is_visible(), "paper folds nothing"
    page.emulate_media(media="screen")
    page.goto("about:blank")
    pointed = visit(cast.art_director.person, f"{address}#rounds", **PHONE)
    assert pointed.get_by_role("region", name="Rounds by spread").is_visible()
    wide = visit(cast.art_director.person, address)
    assert wide.get_by_role("button", name="Show this part").count() == 0, "a desk has the room"


def test_no_field_that_is_wrong_or_was_typed_stays_folded_in_the_form_of_the_terms(cast: Any, visit: Any) -> None:
    address = f"{reverse('reviews:terms', args=[cast.book.pk])}?start=trade"
    page = visit(cast.art_director.person, address, **PHONE)
    grace = page.locator("#id_answer_grace")
    assert grace.is_hidden(), "else this tests nothing"
    grace.evaluate("field => { field.value = '-4'; }")
    page.get_by_role("button", name="Enter these terms").click()
    if page.locator("dialog[open]").count():
        page.get_by_role("button", name="Enter them").click()
    grace.wait_for()
    grace.fill("2")
    page.reload()
    page.locator(".typed-back").wait_for()
    assert grace.is_visible() and grace.input_value() == "2"


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
