"""The dummy is read to its end with one key, flick or click a turn, and every page can be looked at both ways."""

from typing import Any

import pytest

from tests.browser.hands import WINDOWS, flick, until, window
from tests.cast import gather
from tests.letter_scene import approved
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

NAMES = [
    "Front cover", "Front ends 2–3", "Pages 4–5", "Pages 6–7", "Pages 8–9", "Pages 10–11", "Pages 12–13",
    "Back ends 14–15", "Back cover",
]  # fmt: skip


@pytest.fixture
def scene():
    """One spread is approved at its ideas and handed in again at its sketch; the next has only ideas."""
    cast = gather(a_book())
    approved(cast, cast.passage("Pages 4–5", "ideas"), 0)
    handed_in(cast.passage("Pages 4–5", "sketch"), cast.illustrator, [1])
    handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator, [2])
    return cast


def open_name(page: Any) -> str:
    names = page.locator("[data-opening]:not([hidden])").evaluate_all("all => all.map((one) => one.dataset.name)")
    assert len(names) == 1, names
    return names[0]


def open_dummy(visit: Any, scene: Any, **options: Any) -> Any:
    page = visit(scene.art_director.person, f"/books/{scene.book.pk}/dummy/", has_pictures=False, **options)
    page.locator("[data-dummy][data-live]").wait_for()
    return page


@pytest.mark.parametrize(
    ("on", "back"), [("ArrowRight", "ArrowLeft"), ("Space", "Shift+Space"), ("PageDown", "PageUp")]
)
def test_one_key_a_turn_reads_the_whole_book_and_one_leads_back(visit: Any, scene: Any, on: str, back: str):
    from axe_playwright_python.sync_playwright import Axe

    page = open_dummy(visit, scene)
    read = [open_name(page)]
    for _ in NAMES[1:]:
        page.keyboard.press(on)
        read.append(open_name(page))
    assert read == NAMES
    page.keyboard.press(on)
    assert open_name(page) == NAMES[-1], "behind the back cover comes nothing"
    page.keyboard.press(back)
    assert open_name(page) == NAMES[-2]
    page.keyboard.press("Home")
    assert open_name(page) == NAMES[0]
    page.keyboard.press("End")
    assert open_name(page) == NAMES[-1]
    assert page.locator("[data-dummy-said]").inner_text() == NAMES[-1]
    if on == "Space":
        # Last, since whoever opened the list has their focus in it.
        page.get_by_text("All pages").click()
        assert [(one["id"], one["nodes"][0]["target"]) for one in Axe().run(page).response["violations"]] == []
    assert page.problems == []


def test_a_click_on_the_right_page_turns_on_and_on_the_left_page_back(visit: Any, scene: Any):
    page = open_dummy(visit, scene)
    page.get_by_role("link", name="Turn the page").click()
    box = page.locator("[data-opening]:not([hidden]) [data-open-book]").bounding_box()
    for share, name in ((0.8, NAMES[2]), (0.8, NAMES[3]), (0.2, NAMES[2])):
        page.mouse.click(box["x"] + share * box["width"], box["y"] + box["height"] / 2)
        assert open_name(page) == name
    page.get_by_role("link", name="Back", exact=True).click()
    assert open_name(page) == NAMES[1]
    page.get_by_text("All pages").click()
    page.get_by_role("link", name="Pages 8–9").click()
    assert open_name(page) == "Pages 8–9"
    page.reload()
    assert open_name(page) == "Pages 8–9", "its address is that of what lies open"
    assert page.problems == []


@pytest.mark.parametrize("width", [820, 390])
def test_a_flick_turns_the_page_and_nothing_needs_a_scroll_aside(visit: Any, scene: Any, width: int):
    page = open_dummy(visit, scene, **window(width, "touch"))
    for across, name in ((-150, NAMES[1]), (-150, NAMES[2]), (150, NAMES[1])):
        flick(page, page.locator("[data-opening]:not([hidden]) [data-open-book]"), across)
        until(page, lambda name=name: open_name(page) == name)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.locator(".ledge :is(a, button, summary):visible").evaluate_all(
        "all => all.filter((one) => one.getBoundingClientRect().height < 24).map((one) => one.textContent)"
    )
    assert small == []
    assert page.problems == []


def test_newest_and_approved_are_changed_at_any_page_by_link_and_by_key(visit: Any, scene: Any):
    page = open_dummy(visit, scene)
    for _ in range(2):
        page.keyboard.press("ArrowRight")
    opened = page.locator("[data-opening]:not([hidden])")

    def seen() -> list[str]:
        return opened.locator(".art:visible").evaluate_all("all => all.map((art) => art.classList.value)")

    assert seen() == ["art newest"] and "sketch" in opened.locator(".standing").inner_text()
    page.get_by_role("link", name="Approved").click()
    assert seen() == ["art approved"] and "approved: ideas" in opened.locator(".standing").inner_text()
    assert "at=3&art=approved" in page.url
    page.keyboard.press("ArrowRight")
    assert seen() == [] and opened.get_by_text("Nothing approved yet").is_visible()
    opened.locator("[data-open-book]").focus()
    page.keyboard.press("a")
    assert seen() == ["art newest"] and opened.get_by_text("Nothing approved yet").is_hidden()
    assert page.problems == []


def test_a_picture_is_brought_when_its_page_is_near_and_no_sooner(visit: Any, scene: Any):
    page = visit(scene.art_director.person, "/", has_pictures=False)
    asked: list[str] = []
    page.on("request", lambda request: "preview" in request.url and asked.append(request.url))
    page.goto(page.url.rstrip("/") + f"/books/{scene.book.pk}/dummy/")
    page.locator("[data-dummy][data-live]").wait_for()
    page.wait_for_timeout(500)
    assert asked == [], "neither the cover nor the ends after it have one"
    page.keyboard.press("ArrowRight")
    until(page, lambda: len(asked) == 1)
    page.keyboard.press("ArrowRight")
    until(page, lambda: len(asked) >= 2)
    assert page.locator("[data-opening]:not([hidden]) .art.newest image[href]").count() == 1


@pytest.mark.parametrize("width", WINDOWS)
def test_the_book_has_most_of_the_window(visit: Any, scene: Any, width: int):
    way = "mouse" if width > 1000 else "touch"
    page = open_dummy(visit, scene, **window(width, way))
    for _ in range(2):
        page.get_by_role("link", name="Turn the page").click()
    rows = page.locator("[data-opening]:not([hidden]) .paper").evaluate_all(
        "all => all.map((one) => one.getBoundingClientRect()).map(({ width, height }) => [width, height])"
    )
    ((paper_width, paper_height),) = rows
    # A spread of two squares fills the width wherever the window is not lower than it is wide.
    assert paper_width >= 0.9 * width
    assert page.locator("[data-dummy]").bounding_box()["y"] + paper_height <= WINDOWS[width]


def test_without_scripts_links_read_the_book(visit: Any, scene: Any):
    page = visit(
        scene.art_director.person, f"/books/{scene.book.pk}/dummy/", has_pictures=False, java_script_enabled=False
    )
    read = [page.locator(".ledge .here b").inner_text()]
    while page.get_by_role("link", name="Turn the page").count():
        page.get_by_role("link", name="Turn the page").click()
        read.append(page.locator(".ledge .here b").inner_text())
    assert read == NAMES
    page.get_by_role("link", name="Approved").click()
    assert page.url.endswith("?at=9&art=approved")


def test_a_turn_never_loses_the_place_of_the_keyboard(visit: Any, scene: Any):
    page = open_dummy(visit, scene)
    on = "document.activeElement.matches('[data-open-book]')"
    page.locator("[data-turn=after]").focus()
    for _ in NAMES[1:]:
        page.keyboard.press("Enter")
    assert open_name(page) == NAMES[-1]
    assert page.evaluate(on), "the handle that was pressed has nothing left to turn to"
    page.get_by_text("All pages").click()
    page.locator("[data-turn-to='3']").focus()
    page.keyboard.press("Enter")
    assert open_name(page) == NAMES[2]
    assert page.evaluate(on)
