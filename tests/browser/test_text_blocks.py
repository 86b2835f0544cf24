"""Blocks of text placed in the browser: by keys, by hand and by figures, in lines as the server broke them."""

from __future__ import annotations

from typing import Any

import pytest

from reviews.models import SpreadText
from tests.cast import gather
from tests.makers import a_book
from tests.texts import a_text_block, placed

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def page(visit: Any) -> Any:
    cast = gather(a_book())
    sketch = cast.passage("Pages 4–5", "sketch")
    placed(sketch, a_text_block(), actor=cast.editor)
    found = visit(cast.editor.person, f"/spreads/{sketch.spread_id}/text/", viewport={"width": 1440, "height": 900})
    found.wait_for_selector(".text-handle")
    return found


def figures(page: Any, at: int) -> list[str]:
    names = ("left_mm", "top_mm", "width_mm", "height_mm")
    return [page.input_value(f"[name=block-{at}-{name}]") for name in names]


def test_a_block_is_moved_by_keys_and_by_hand_and_a_new_one_is_broken_into_lines(page):
    page.locator(".text-handle").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    assert figures(page, 0) == ["21", "20", "90", "41"]
    box = page.locator(".text-handle .text-box").bounding_box()
    px_per_mm = box["width"] / 90
    page.mouse.move(box["x"] + 20, box["y"] + 10)
    page.mouse.down()
    page.mouse.move(box["x"] + 20 + 10 * px_per_mm, box["y"] + 10 + 30 * px_per_mm, steps=4)
    page.mouse.up()
    left, top = (float(one) for one in figures(page, 0)[:2])
    assert abs(left - 31) < 1 and abs(top - 50) < 1
    page.get_by_role("button", name="Add a block").click()
    page.keyboard.type("Tarn water stood in the pail, and the moon with it, whole.")
    page.fill("[name=block-1-width_mm]", "50")
    page.locator("[data-set-text] text").nth(1).locator("tspan").nth(2).wait_for(state="attached")
    page.get_by_role("button", name="Save version 2").click()
    page.wait_for_load_state()
    blocks = SpreadText.objects.get(version=2).blocks
    assert [one["number"] for one in blocks] == [1, 2]
    assert abs(blocks[0]["box"][0] - 31) < 1 and blocks[1]["box"][2] == 50.0
    assert page.problems == []


def test_a_block_moved_into_the_gutter_is_told_at_once(page):
    page.fill("[name=block-0-left_mm]", "230")
    page.get_by_text("stands in the gutter band").wait_for()
    page.fill("[name=block-0-left_mm]", "20")
    page.get_by_text("stands in the gutter band").wait_for(state="detached")
    assert page.problems == []
