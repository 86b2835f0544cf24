"""A whole book hangs on one screen and on one sheet of A3; the doors lead to every page of a book."""

from typing import Any

import pypdfium2
import pytest

from reviews.rules.states import PassageState
from reviews.templatetags.book_nav import DOORS
from tests.browser.hands import WINDOWS, window
from tests.cast import gather
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WALL = "/books/{}/wall/"


def hung(visit: Any, n_pages: int, **options: Any) -> Any:
    cast = gather(a_book(n_pages=n_pages))
    handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator, [0])
    return visit(cast.art_director.person, WALL.format(cast.book.pk), has_pictures=False, **options)


@pytest.mark.parametrize("n_pages", [32, 80])
def test_the_whole_book_hangs_on_one_screen_and_on_one_sheet(visit: Any, n_pages: int):
    page = hung(visit, n_pages)
    assert page.locator(".wall .opening").count() == n_pages // 2
    box = page.locator(".wall").bounding_box()
    assert box["y"] + box["height"] <= 900 and box["x"] + box["width"] <= 1440, box
    smallest = page.locator(".wall .name").first.evaluate("it => parseFloat(getComputedStyle(it).fontSize)")
    assert smallest >= 12
    sheet = pypdfium2.PdfDocument(page.pdf(prefer_css_page_size=True, print_background=True))
    assert len(sheet) == 1
    assert [round(side / 72 * 25.4) for side in sheet[0].get_size()] == [420, 297]
    assert page.problems == []


@pytest.mark.parametrize("width", [820, 390])
def test_the_wall_needs_no_scroll_aside_and_its_filter_works_by_touch(visit: Any, width: int):
    from axe_playwright_python.sync_playwright import Axe

    page = hung(visit, 16, **window(width, "touch"))
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert [(one["id"], one["nodes"][0]["target"]) for one in Axe().run(page).response["violations"]] == []
    page.get_by_label("Show").select_option(PassageState.ANSWERING.value)
    page.get_by_role("button", name="Look").tap()
    page.get_by_text("1 of 8 stand out").wait_for()
    page.get_by_role("button", name="In greys").tap()
    page.locator(".wall.grey").wait_for()
    assert page.get_by_text("1 of 8 stand out").is_visible(), "one choice does not undo the other"
    page.get_by_role("button", name="In colours").tap()
    page.locator(".wall:not(.grey)").wait_for()


@pytest.mark.parametrize("width", WINDOWS)
def test_four_doors_stand_in_one_row_and_lead_to_every_page_of_the_book(visit: Any, width: int):
    page = hung(visit, 16, **window(width, "mouse" if width > 1000 else "touch"))
    tops = page.locator(".book-nav .doors a").evaluate_all("all => all.map((one) => one.getBoundingClientRect().top)")
    assert len(tops) == 4 and len(set(tops)) == 1
    reached = []
    for door in ("Art", "Letters", "Agreement", "Set-up"):
        page.locator(".doors").get_by_role("link", name=door, exact=True).click()
        opened = page.locator(".doors [aria-current]")
        assert opened.inner_text().strip() == door
        reached += page.locator(".behind a").evaluate_all("all => all.map((one) => one.innerText.trim())")
    assert reached == [str(label) for *_, pages in DOORS for _, label in pages]
