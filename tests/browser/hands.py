"""How a person presses, chooses, writes and marks: with a mouse, with a finger, or with the keys alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

#: What a browser is told of each way, beside the width of its window.
WAYS: dict[str, dict[str, Any]] = {"mouse": {}, "touch": {"has_touch": True}, "keys": {}}
#: Width and height of the windows that everything is played at: a laptop, a tablet, a phone.
WINDOWS = {1440: 900, 820: 1180, 390: 844}


def window(width: int, way: str) -> dict[str, Any]:
    """Give the options of a browser of this width and way; only what is touched is a tablet or a phone."""
    options = {"viewport": {"width": width, "height": WINDOWS[width]}, **WAYS[way]}
    return options | ({"is_mobile": True} if way == "touch" and width < 1000 else {})


class Hand:
    """One person's hand on one page."""

    def __init__(self, page: Any, way: str) -> None:
        self.page, self.way = page, way

    def press(self, target: Any) -> None:
        """Press a button, a link or the line of something folded."""
        if self.way == "mouse":
            target.click()
        elif self.way == "touch":
            target.tap()
        else:
            self.reach(target)
            self.page.keyboard.press("Enter")

    def choose(self, target: Any) -> None:
        """Choose one of several, or tick a box."""
        if self.way == "keys":
            self.reach(target)
            self.page.keyboard.press("Space")
        elif self.way == "touch":
            target.tap()
        else:
            target.click()
        assert target.is_checked()

    def write(self, target: Any, words: str) -> None:
        """Write into a field as it is typed."""
        if self.way == "keys":
            self.reach(target)
        elif self.way == "touch":
            target.tap()
        else:
            target.click()
        self.page.keyboard.type(words)

    def pick(self, target: Any, value: str) -> None:
        """Pick one of a list that the system draws: with the keys by its arrows, else as if it was pressed."""
        if self.way != "keys":
            target.select_option(value)
            return
        self.reach(target)
        for _ in range(target.evaluate("list => list.options.length")):
            if target.input_value() == value:
                break
            self.page.keyboard.press("ArrowDown")
        assert target.input_value() == value

    def reach(self, target: Any) -> None:
        """Come to something by Tab: it has its place in that order, it can be seen, and it has the focus then."""
        target.wait_for()
        assert target.evaluate("it => it.tabIndex >= 0 && !it.disabled"), "no key leads there"
        target.focus()
        assert target.evaluate("it => it === document.activeElement")

    def mark_box(self) -> None:
        """Mark a box in the middle of the picture that lies open."""
        art = self.page.locator("[data-board] .leaflet-image-layer")
        art.wait_for()
        self.press(self.page.get_by_role("button", name="Box"))
        if self.way == "keys":
            self.page.keyboard.press("ArrowLeft")
            self.page.keyboard.press("Enter")
            return
        self.page.locator("[data-board]").evaluate("board => board.scrollIntoView({ block: 'start' })")
        box = art.bounding_box()
        corners = [(box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in ((0.4, 0.4), (0.6, 0.6))]
        if self.way == "touch":
            for corner in corners:
                self.page.touchscreen.tap(*corner)
            return
        self.page.mouse.move(*corners[0])
        self.page.mouse.down()
        self.page.mouse.move(*corners[1], steps=4)
        self.page.mouse.up()


def until(page: Any, holds: Callable[[], bool]) -> None:
    """Ask until it holds. (Playwright's own wait_for_function evaluates a string, which the page's policy refuses.)"""
    for _ in range(100):
        if holds():
            return
        page.wait_for_timeout(100)
    raise AssertionError("It did not come to hold within ten seconds.")


def flick(page: Any, target: Any, across_px: int, *, down_px: int = 0) -> None:
    """Draw one finger across a target, from its middle, as quickly as a page is turned."""
    box = target.bounding_box()
    x, y = box["x"] + box["width"] / 2 - across_px / 2, box["y"] + box["height"] / 2
    device = page.context.new_cdp_session(page)
    device.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 5):
        point = {"x": x + across_px * step / 4, "y": y + down_px * step / 4}
        device.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    device.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
