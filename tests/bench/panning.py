"""How evenly the review table moves: frames while a picture is panned, with and without the earlier version over it.

    python -m tests.bench.panning SIGN-IN-LINK /passages/15/ [--lay]

Run against a portal that is already up (the demo prints its sign-in links). Prints the gaps between frames, the tasks
that held the main thread longer than 50 ms, and how long the browser's threads computed and how long they were ready
but had to wait for a core: a gap on a machine where they waited much is the machine's, not the page's.
"""

from __future__ import annotations

import argparse
import os
from itertools import pairwise
from pathlib import Path
from urllib.parse import urljoin

from playwright.sync_api import Page, sync_playwright

CHROMIUM = "/usr/bin/chromium"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
WATCH = """() => {
  window.frames_ = []; window.tasks_ = [];
  new PerformanceObserver((list) => list.getEntries().forEach((one) => window.tasks_.push(one.duration)))
    .observe({type: "longtask"});
  const next = (now) => { window.frames_.push(now); window.requestAnimationFrame(next); };
  window.requestAnimationFrame(next);
}"""


def family(root: int) -> list[int]:
    """List a process and all that descend from it."""
    parents = {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            parents[int(folder.name)] = int((folder / "stat").read_text().rsplit(")", 1)[1].split()[1])
        except OSError:  # it ended meanwhile
            continue
    found = [root]
    for one in found:
        found += [pid for pid, parent in parents.items() if parent == one]
    return found


def core_seconds(root: int) -> tuple[float, float]:
    """Return how long the threads of a family computed, and how long they waited for a core, in seconds."""
    ran = waited = 0
    for pid in family(root):
        for thread in Path(f"/proc/{pid}/task").glob("*/schedstat"):
            try:
                one = thread.read_text().split()
            except OSError:
                continue
            ran, waited = ran + int(one[0]), waited + int(one[1])
    return ran / 1e9, waited / 1e9


def pan(page: Page, strokes: int) -> list[float]:
    """Drag the art to and fro, one mouse step per frame, and give the gaps between frames in ms."""
    board = page.locator("[data-board]").bounding_box()
    assert board is not None
    x, y = board["x"] + board["width"] / 2, board["y"] + board["height"] / 2
    page.evaluate(WATCH)
    for stroke in range(strokes):
        dx, dy = [(260, 90), (-260, -90), (-200, 120), (200, -120)][stroke % 4]
        page.mouse.move(x, y)
        page.mouse.down()
        for step in range(1, 31):
            page.mouse.move(x + dx * step / 30, y + dy * step / 30)
        page.mouse.up()
        page.wait_for_timeout(150)
    at = page.evaluate("() => window.frames_")
    return [b - a for a, b in pairwise(at)]


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("sign_in")
    asked.add_argument("path")
    asked.add_argument("--lay", action="store_true", help="with the earlier version laid over")
    asked.add_argument("--strokes", type=int, default=8)
    options = asked.parse_args()
    with sync_playwright() as browsers:
        browser = browsers.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_context(viewport={"width": 1440, "height": 900}).new_page()
        page.goto(options.sign_in)
        page.goto(urljoin(options.sign_in, options.path))
        page.locator(".leaflet-tile-loaded img").first.wait_for(state="attached")
        page.get_by_role("button", name="1 : 1", exact=True).click()
        if options.lay:
            page.locator("[data-lay]").click()
        page.wait_for_timeout(3000)
        before = core_seconds(os.getpid())
        gaps = sorted(pan(page, options.strokes))
        ran, waited = (after - was for after, was in zip(core_seconds(os.getpid()), before, strict=True))
        tasks = page.evaluate("() => window.tasks_")
        size = page.locator("[data-caption-of] .option-facts").first.inner_text().split("\n")[0]
        browser.close()
    over = [gap for gap in gaps if gap > 50]
    print(f"{options.path} {size}, earlier version {'over it' if options.lay else 'not laid'}")
    median, high = (gaps[int(len(gaps) * share)] for share in (0.5, 0.99))
    print(f"  frames {len(gaps)}, median {median:.1f} ms, 99 % {high:.1f} ms, longest {gaps[-1]:.1f} ms")
    print(f"  frames over 50 ms: {len(over)}")
    print(f"  tasks over 50 ms on the main thread: {len(tasks)}, longest {max(tasks, default=0):.0f} ms")
    print(f"  the browser's threads computed {ran:.1f} s and waited {waited:.1f} s for a core")
    print(f"  load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")


if __name__ == "__main__":
    main()
