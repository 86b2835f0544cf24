"""On a touch screen a tap presses what was under the finger, and nothing that came there since."""

from typing import Any

import pytest

from tests.browser.test_review_table import art, on_art, table  # noqa: F401
from tests.letter_scene import pinned

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


@pytest.mark.parametrize("down", [0.3, 0.4, 0.5, 0.6, 0.7])
def test_a_point_set_by_finger_ticks_no_cause_and_opens_nothing(table: Any, down: float):  # noqa: F811
    pinned(table.passage, table.cast.production, "Longer.")
    page = table.sit_down(table.cast.editor, **PHONE)
    page.get_by_role("button", name="Point").tap()
    # The tools stand over the foot of a tall picture: what is tapped must be in sight.
    page.locator("[data-board]").evaluate("board => board.scrollIntoView({ block: 'start' })")
    board = page.locator("[data-board]").bounding_box()
    page.touchscreen.tap(board["x"] + board["width"] / 2, board["y"] + board["height"] * down)
    page.locator("[data-note-form]").wait_for()
    page.wait_for_timeout(700)
    assert page.locator("[name=cause]:checked").count() == 0
    assert page.locator(".letter-side details[open]").count() == 0
    assert page.locator("[data-note-form]").is_visible()


def test_a_box_set_by_two_taps_opens_no_reply(table: Any):  # noqa: F811
    pinned(table.passage, table.cast.production, "Longer.")
    page = table.sit_down(table.cast.editor, **{**PHONE, "viewport": {"width": 820, "height": 1180}})
    page.get_by_role("button", name="Box").tap()
    for x, y in ((0.2, 0.3), (0.6, 0.7)):
        page.touchscreen.tap(*on_art(page, x, y))
    page.locator("[data-note-form]").wait_for()
    page.wait_for_timeout(700)
    assert page.locator(".letter-side details[open]").count() == 0
    assert page.locator("[name=cause]:checked").count() == 0


def test_ordinary_taps_do_what_they_say(table: Any):  # noqa: F811
    page = table.sit_down(table.cast.editor, **PHONE)
    page.get_by_role("button", name="Point").tap()
    page.touchscreen.tap(*on_art(page, 0.5, 0.5))
    page.locator("[data-note-form]").wait_for()
    page.get_by_label("What do you ask for here?").tap()
    page.keyboard.type("A heron.")
    page.get_by_label("A new direction").tap()
    assert page.locator("[name=cause][value=direction]").is_checked()
    page.locator("[data-note-form]").get_by_text("The text changed").tap()  # the words of a label, not its button
    assert page.locator("[name=cause][value=text]").is_checked()
    page.locator("[data-send-words]").tap()
    page.locator("[data-note-form]").wait_for(state="hidden")
    assert table.passage.notes.get().words == "A heron."


def test_a_second_tap_on_what_came_under_the_finger_is_swallowed(table: Any):  # noqa: F811
    page = table.sit_down(table.cast.editor, **PHONE)
    page.evaluate("""() => {
        const place = "position:fixed;left:10px;top:200px;width:90px;height:60px;z-index:99999";
        const [first, second] = ["first", "second"].map((name) => {
            const button = document.createElement("button");
            button.style.cssText = place;
            button.addEventListener("click", () => window.pressed.push(name));
            return button;
        });
        window.pressed = [];
        first.addEventListener("click", () => first.replaceWith(second));
        document.body.append(first);
    }""")
    page.touchscreen.tap(50, 230)
    page.touchscreen.tap(50, 230)
    assert page.evaluate("window.pressed") == ["first"]
    page.wait_for_timeout(800)
    page.touchscreen.tap(50, 230)
    assert page.evaluate("window.pressed") == ["first", "second"]
