"""How a person presses, chooses, writes and marks: with a mouse, with a finger, or with the keys alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from reviews import jobs
from tests.tasks.test_comparisons import do_all

#: What a browser is told of each way, beside the width of its window.
WAYS: dict[str, dict[str, Any]] = {"mouse": {}, "touch": {"has_touch": True}, "keys": {}}
#: Width and height of the windows that everything is played at: a laptop, a tablet, a phone.
WINDOWS = {1440: 900, 820: 1180, 390: 844}


def window(width: int, way: str) -> dict[str, Any]:
    """Give the options of a browser of this width and way; only what is touched is a tablet or a phone."""
    options = {"viewport": {"width": width, "height": WINDOWS[width]}, **WAYS[way]}
    return options | ({"is_mobile": True} if way == "touch" and width < 1000 else {})


#: How often a way by Tab is reckoned anew: what scrolls by itself, or opens on the way, is a stop that nobody counted.
MOST_LEGS = 12
#: How many stops of Tab lie between where the focus is and the target; below 0 where it lies before.
STOPS_TO = """(it) => {
  const now = document.activeElement;
  const ofGroup = (one) => one.type === "radio" && one.name === it.name && one.form === it.form;
  if (now === it || (it.type === "radio" && ofGroup(now))) return 0;
  const root = document.querySelector("dialog:modal") ?? document;
  const isTarget = (one) => one === it || (it.type === "radio" && ofGroup(one));
  const all = [...root.querySelectorAll("a[href], button, input, select, textarea, summary, [tabindex]")];
  const isSeen = (one) => one.checkVisibility({ visibilityProperty: true });
  const stops = all.filter((one) => one.tabIndex >= 0 && !one.disabled && isSeen(one) && isStop(one));
  function isStop(one) {
    if (one.type !== "radio") return true;
    const group = [...(one.form ?? document).querySelectorAll(`[type=radio][name="${one.name}"]`)];
    return one === (group.find((other) => other.checked) ?? group[0]);
  }
  const at = stops.findIndex(isTarget);
  if (at < 0) return 1;
  if (now === document.body || !root.contains(now)) return at + 1;
  const isAhead = now.compareDocumentPosition(stops[at]) & Node.DOCUMENT_POSITION_FOLLOWING;
  const between = stops.filter((one, n) => one !== now && (isAhead
    ? n <= at && now.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING
    : n >= at && now.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_PRECEDING));
  return isAhead ? between.length : -between.length;
}"""


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
        """Come to something by pressing Tab as often as it takes, forwards or back; the focus can be seen there.

        Of a group of radio buttons Tab comes to one, and the arrows lead on.
        """
        target.wait_for()
        for _ in range(MOST_LEGS):
            n_stops = target.evaluate(STOPS_TO)
            if n_stops == 0:
                break
            for _ in range(abs(n_stops)):
                self.page.keyboard.press("Tab" if n_stops > 0 else "Shift+Tab")
        else:
            raise AssertionError(f"no key leads to {target}")
        for _ in range(target.evaluate("it => it.type === 'radio' ? it.form.elements[it.name].length ?? 1 : 0")):
            if target.evaluate("it => it === document.activeElement"):
                break
            self.page.keyboard.press("ArrowDown")
        assert target.evaluate("it => it === document.activeElement && it.matches(':focus-visible')")

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


def hand_in_drawn(page: Any, name: str, content: bytes, words: str, *, number: int) -> None:
    """Choose a file in the draft that lies open, write the cover note, and hand in."""
    # What opens is the system's own window for files; the page's part is the press before it and what follows.
    with page.expect_file_chooser() as chooser:
        page.hand.press(page.locator("[data-choose]"))
    chooser.value.set_files({"name": name, "mimeType": "image/jpeg", "buffer": content})
    page.locator("[data-pictures] > li[data-picture]").wait_for()
    do_all(jobs.RENDITIONS)
    page.locator("[data-standing]", has_text="Ready to hand in").wait_for()
    page.hand.write(page.locator("[name=cover_note]"), words)
    page.hand.press(page.get_by_role("button", name=f"Hand in number {number}"))
    # As a person does who reads it: a second tap on the same spot, within a blink, is held back.
    page.wait_for_timeout(600)
    page.hand.press(page.locator("[data-ask-yes-button]"))


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
