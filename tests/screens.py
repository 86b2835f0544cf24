"""The pictures of README.md, drawn from our own demo: ``python -m tests.screens``.

``--data DIR`` serves the demo that lies there (painting it first where none does); ``--out DIR`` writes elsewhere than
``.screens``. The suite draws every one of them too (``tests/portal/test_screens.py``).
"""

from __future__ import annotations

import argparse
import io
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image

from tests.servers import free_port, launched
from tests.stacks import DemoStack, plain_environment, sign_ins_of

FOLDER = Path(__file__).resolve().parent.parent / ".screens"
SIZE = {"width": 1440, "height": 900}
#: README is read over slow lines too: our own bound. The first quality that keeps to it is taken.
MOST_BYTES, QUALITIES = 120_000, (78, 66, 54)


def _open_table(page: Any, address: str) -> None:
    """Come to a table as people do: by the map."""
    page.goto(f"{address}/books/1/")
    page.locator("a.piece", has_text="Pages 18–19").click()
    page.locator("[data-board] .leaflet-image-layer").first.wait_for()
    page.wait_for_load_state("networkidle")


def _at(path: str) -> Callable[[Any, str], None]:
    def go(page: Any, address: str) -> None:
        page.goto(f"{address}{path}")
        page.wait_for_load_state("networkidle")

    return go


def _read_letter(page: Any, address: str) -> None:
    """Come to the first note of a letter, with its place on the picture."""
    _at("/letters/3/")(page, address)
    page.locator(".note").first.evaluate("note => note.scrollIntoView({ block: 'center' })")
    page.wait_for_load_state("networkidle")


@dataclass(frozen=True)
class Screen:
    """One picture: its name, whose sign-in, and the way there."""

    name: str
    role: str
    go: Callable[[Any, str], None]


SCREENS = (
    Screen("table", "art director", _open_table),
    Screen("wall", "art director", _at("/books/1/wall/")),
    Screen("letter", "illustrator", _read_letter),
    Screen("vote", "art director", _at("/votes/1/")),
)


def draw(screen: Screen, page: Any, stack: DemoStack) -> bytes:
    """Sign in, go there, and give the picture as WebP."""
    page.goto(stack.links[screen.role])
    screen.go(page, stack.address)
    shot = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    packed = (_packed(shot, quality) for quality in QUALITIES)
    return next((one for one in packed if len(one) <= MOST_BYTES), _packed(shot, QUALITIES[-1]))


def _packed(shot: Image.Image, quality: int) -> bytes:
    out = io.BytesIO()
    shot.save(out, "WEBP", quality=quality, method=6)
    return out.getvalue()


def main() -> None:
    """Serve the demo, draw each screen, and say how large it came out."""
    from playwright.sync_api import sync_playwright

    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--data", type=Path, help="the demo's data folder; without it one is painted for this")
    asked.add_argument("--out", type=Path, default=FOLDER)
    given = asked.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as own, sync_playwright() as engine:
        environment = plain_environment(ROUGHPROOF_DATA=str(given.data or Path(own) / "data"))
        stack = DemoStack(environment, Path(own) / "log", port=free_port())
        # To the end of what the worker has to do: a picture that says that something is still being made tells nothing.
        stack.manage("demo", "--no-serve", timeout=900)
        stack.start_manage("demo", "demo", "--port", str(stack.port))
        browser = launched(engine)
        try:
            stack.links = sign_ins_of(stack, seconds=600)
            for screen in SCREENS:
                picture = draw(screen, browser.new_context(viewport=SIZE).new_page(), stack)
                (given.out / f"{screen.name}.webp").write_bytes(picture)
                print(f"{screen.name}.webp: {len(picture):,} bytes")
        finally:
            browser.close()
            stack.stop()


if __name__ == "__main__":
    main()
