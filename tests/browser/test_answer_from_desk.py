"""From the desk an art director answers on the table and turns to the next spread: few presses, and keys suffice."""

from typing import Any

import pytest

from reviews.models import LetterAnswer
from tests.browser.hands import WINDOWS, flick, window
from tests.cast import gather
from tests.letter_scene import ELSEWHERE, pinned
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

#: From the desk to an answer given, and from there to the next spread's: opened or turned to, found, answered.
MOST_PRESSES = 3


@pytest.fixture
def scene():
    """Two spreads wait; the first has a letter long enough to push the answer out of sight."""
    cast = gather(a_book())
    for seed, pages in enumerate(("4–5", "6–7")):
        handed_in(cast.passage(f"Pages {pages}", "ideas"), cast.illustrator, [seed])
    for n in range(6):
        pinned(cast.passage("Pages 4–5", "ideas"), cast.editor, f"Note {n}. " + "Longer. " * 20, region=ELSEWHERE)
    return cast


def answers() -> list[tuple[str, str]]:
    rows = LetterAnswer.objects.order_by("passage__spread__position")
    return list(rows.values_list("passage__spread__label", "answer"))


@pytest.mark.parametrize("width", WINDOWS)
def test_an_answer_takes_three_presses_from_the_desk_and_three_more_on_the_next_spread(
    visit: Any, scene: Any, width: int
):
    way = "mouse" if width > 1000 else "touch"
    page = visit(scene.art_director.person, "/", has_pictures=False, **window(width, way))
    presses = []

    def press(target: Any) -> None:
        presses.append(target.inner_text())
        target.click() if way == "mouse" else target.tap()

    def in_sight(target: Any) -> bool:
        return target.evaluate(
            "it => { const box = it.getBoundingClientRect(); return box.bottom > 0 && box.top < innerHeight }"
        )

    def answer(words: str) -> None:
        button = page.locator("[data-answer-here]").get_by_role("button", name=words, exact=True)
        if not in_sight(button):
            press(page.get_by_role("link", name="Your answer"))
            page.wait_for_timeout(300)
        assert in_sight(button)
        press(button)
        page.locator("[data-answer-here] [aria-pressed=true]", has_text=words).wait_for()

    press(page.locator(".asks a:not([tabindex])", has_text="Pages 4–5").first)
    page.wait_for_url("**/passages/**")
    answer("Ask for changes")
    assert len(presses) <= MOST_PRESSES, presses
    press(page.locator("[data-leaf=after]"))
    page.get_by_role("heading", name="Pages 6–7").wait_for()
    answer("Approve")
    assert len(presses) <= 2 * MOST_PRESSES, presses
    assert answers() == [("Pages 4–5", "ask"), ("Pages 6–7", "approve")]
    press(page.locator("[data-leaf=before]"))
    page.get_by_role("heading", name="Pages 4–5").wait_for()
    assert page.problems == []


def test_the_keys_alone_answer_and_turn_the_leaf(visit: Any, scene: Any):
    page = visit(scene.art_director.person, "/", has_pictures=False)

    def tab_to(words: str, most: int) -> None:
        for _ in range(most):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.innerText?.trim() ?? ''").endswith(words):
                return
        raise AssertionError(f"{words} is not reached within {most} tabs")

    tab_to("Pages 4–5", 30)
    page.keyboard.press("Enter")
    page.wait_for_url("**/passages/**")
    tab_to("Your answer", 14)
    page.keyboard.press("Enter")
    tab_to("Ask for changes", 3)
    page.keyboard.press("Enter")
    page.locator("[data-answer-here] [aria-pressed=true]", has_text="Ask for changes").wait_for()
    page.keyboard.press("Shift+ArrowRight")
    page.get_by_role("heading", name="Pages 6–7").wait_for()
    tab_to("Your answer", 14)
    page.keyboard.press("Enter")
    tab_to("Approve", 1)
    page.keyboard.press("Enter")
    page.locator("[data-answer-here] [aria-pressed=true]", has_text="Approve").wait_for()
    page.keyboard.press("Shift+ArrowLeft")
    page.get_by_role("heading", name="Pages 4–5").wait_for()
    assert answers() == [("Pages 4–5", "ask"), ("Pages 6–7", "approve")]
    assert page.problems == []


@pytest.mark.parametrize("width", [820, 390])
def test_a_flick_turns_the_leaf_where_the_picture_is_shown_whole(visit: Any, scene: Any, width: int):
    passage = scene.passage("Pages 4–5", "ideas")
    page = visit(scene.art_director.person, f"/passages/{passage.pk}/", has_pictures=False, **window(width, "touch"))
    board = page.locator("[data-board]")
    board.locator(".leaflet-image-layer").wait_for(state="attached")
    page.get_by_role("button", name="Zoom in").click()
    flick(page, board, -160)
    page.wait_for_timeout(400)
    assert page.get_by_role("heading", name="Pages 4–5").is_visible(), "nearer to it, a finger moves the picture"
    page.get_by_role("button", name="Fit").click()
    flick(page, board, -40)
    flick(page, board, -100, down_px=90)
    page.wait_for_timeout(400)
    assert page.get_by_role("heading", name="Pages 4–5").is_visible(), "too short, or too steep"
    flick(page, board, -160)
    page.get_by_role("heading", name="Pages 6–7").wait_for()
    board.locator(".leaflet-image-layer").wait_for(state="attached")
    flick(page, board, 160)
    page.get_by_role("heading", name="Pages 4–5").wait_for()
    board.locator(".leaflet-image-layer").wait_for(state="attached")
    page.get_by_role("button", name="Box").click()
    flick(page, board, -160)
    page.wait_for_timeout(400)
    assert page.get_by_role("heading", name="Pages 4–5").is_visible(), "with a tool in hand, a finger draws"
    assert page.problems == []
