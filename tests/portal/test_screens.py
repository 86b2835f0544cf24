"""The pictures of README.md: each is drawn by its command from the demo, and is what README shows."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageStat

from tests.screens import FOLDER, MOST_BYTES, SCREENS, SIZE, draw

README = Path(__file__).resolve().parents[2] / "README.md"


def test_readme_shows_each_picture_once_with_words_for_it_and_no_other():
    shown = re.findall(r"!\[([^\]]{20,})\]\(\.screens/(\w+)\.webp\)", README.read_text())
    names = sorted(screen.name for screen in SCREENS)
    assert sorted(name for _words, name in shown) == names
    assert sorted(path.stem for path in FOLDER.iterdir()) == names


@pytest.mark.parametrize("screen", SCREENS, ids=lambda screen: screen.name)
def test_the_picture_kept_is_small_and_whole(screen):
    kept = (FOLDER / f"{screen.name}.webp").read_bytes()
    assert len(kept) <= MOST_BYTES
    with Image.open(io.BytesIO(kept)) as picture:
        assert picture.size == (SIZE["width"], SIZE["height"])


@pytest.mark.slow
@pytest.mark.browser
def test_the_command_draws_every_one_from_the_demo_as_it_is(demo: Any, chromium: Any) -> None:
    for screen in SCREENS:
        context = chromium.new_context(viewport=SIZE)
        page = context.new_page()
        problems: list[str] = []
        page.on("pageerror", lambda error, found=problems: found.append(str(error)))
        picture = draw(screen, page, demo)
        told = page.locator("h1").first.inner_text()
        context.close()
        assert problems == [] and told, screen.name
        assert len(picture) <= MOST_BYTES, (screen.name, len(picture))
        # A page with art on it has greys of many kinds; an empty or broken one is nearly all of one.
        with Image.open(io.BytesIO(picture)) as drawn:
            assert ImageStat.Stat(drawn.convert("L")).stddev[0] > 30, screen.name
