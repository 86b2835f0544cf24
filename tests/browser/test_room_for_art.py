"""The picture comes first: how much of the screen it has, and what can be put out of its way."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from reviews.actions import notes
from tests.cast import gather
from tests.makers import a_book
from tests.tasks.test_comparisons import OWL, a_drawing, deliver

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WIDE = {"width": 1440, "height": 900}
SHARE = """() => {
  const box = (of) => document.querySelector(of).getBoundingClientRect();
  const [art, board] = [box(".leaflet-preview-pane img"), box("[data-board]")];
  const screen = innerWidth * innerHeight;
  return { art: art.width * art.height / screen, board: board.width * board.height / screen };
}"""


@pytest.fixture
def table(visit: Any) -> Any:
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    picture = deliver(cast, passage, a_drawing(OWL)).pictures.get()
    region = {"kind": "box", "points": [[0.2, 0.2], [0.4, 0.5]]}
    notes.pin_note(passage.pk, picture.pk, region=region, words="Wider.", cause="direction", actor=cast.art_director)
    page = visit(cast.art_director.person, reverse("reviews:passage", args=[passage.pk]), viewport=WIDE)
    page.locator(".leaflet-preview-pane img").wait_for()
    return page


def test_the_art_has_more_of_the_screen_the_more_is_put_out_of_its_way(table: Any) -> None:
    beside = table.evaluate(SHARE)
    assert beside["art"] > 0.38
    letter = table.locator(".letter-side")
    table.get_by_role("button", name="Letter", exact=True).click()
    letter.wait_for(state="hidden")
    table.wait_for_function(f"({SHARE})().art > {beside['art']} * 1.1")
    table.get_by_role("button", name="Full screen").click()
    table.wait_for_function(f"({SHARE})().board > 0.99")
    assert not table.locator(".ledge").is_visible()
    table.get_by_role("button", name="Leave full screen").click()
    table.locator(".ledge").wait_for()
    assert table.evaluate("document.activeElement.textContent") == "Full screen"
    assert table.problems == []


def test_keys_do_the_same_and_escape_always_leaves(table: Any) -> None:
    board = table.locator("[data-board]")
    board.focus()
    table.keyboard.press("l")
    assert not table.locator(".letter-side").is_visible()
    table.keyboard.press("m")
    assert not table.locator(".pin").first.is_visible()
    table.keyboard.press("f")
    table.wait_for_function(f"({SHARE})().board > 0.99")
    table.keyboard.press("Escape")
    table.locator(".ledge").wait_for()


def test_the_letter_stays_aside_on_this_device_until_a_note_is_to_be_read(table: Any) -> None:
    table.get_by_role("button", name="Letter", exact=True).click()
    table.reload()
    table.locator(".pin").first.wait_for()
    assert not table.locator(".letter-side").is_visible()
    table.get_by_role("button", name="Marks", exact=True).click()
    assert not table.locator(".pin").first.is_visible()
    table.get_by_role("button", name="Marks", exact=True).click()
    table.locator(".pin").first.click()
    table.locator("[data-letter-notes]", has_text="Wider.").wait_for()
    table.goto(table.url.split("#")[0] + "?again")  # an address that names a note shows the letter
    table.locator(".pin").first.wait_for()
    assert not table.locator(".letter-side").is_visible(), "a note read once does not change what was chosen"


def test_the_way_to_the_answer_brings_the_letter_back(table: Any) -> None:
    table.get_by_role("button", name="Letter", exact=True).click()
    table.get_by_role("link", name="Your answer").click()
    assert table.locator("#answer-here").is_visible()


def test_on_a_phone_half_the_screen_is_the_arts(table: Any) -> None:
    table.set_viewport_size({"width": 390, "height": 844})
    table.reload()
    table.locator(".leaflet-preview-pane img").wait_for()
    assert table.evaluate(SHARE)["board"] >= 0.499
    box = table.locator("[data-board]").bounding_box()
    assert box["y"] + 0.75 * box["height"] < 844, "the most of it without scrolling"
    assert table.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_place_marked_on_the_full_screen_is_written_where_it_can_be_seen(table: Any) -> None:
    table.get_by_role("button", name="Box", exact=True).click()
    table.get_by_role("button", name="Full screen").click()
    table.wait_for_function(f"({SHARE})().board > 0.99")
    box = table.locator("[data-board]").bounding_box()
    table.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    table.mouse.down()
    table.mouse.move(box["x"] + 0.6 * box["width"], box["y"] + 0.6 * box["height"], steps=5)
    table.mouse.up()
    words = table.get_by_label("What do you ask for here?")
    words.wait_for()
    table.wait_for_function("document.activeElement.tagName === 'TEXTAREA'")
    words.fill("Half a sentence")
    table.get_by_role("button", name="Letter", exact=True).click()
    table.reload()
    words.wait_for()
    assert words.input_value() == "Half a sentence", "typed words come back where they can be seen, too"


def test_whoever_has_no_button_for_it_never_loses_what_is_asked(visit: Any) -> None:
    cast = gather(a_book())
    cover = cast.passage("Cover", "ideas")
    deliver(cast, cover, a_drawing(OWL))
    guest = cast.invite_guest(cover)
    page = visit(guest.person, reverse("reviews:passage", args=[cover.pk]), viewport=WIDE)
    page.evaluate("localStorage.setItem('roughproof.letter-aside.' + document.documentElement.dataset.person, 'yes')")
    page.reload()
    page.locator(".leaflet-preview-pane img").wait_for()
    assert page.locator(".letter-side").is_visible()
    page.locator("[data-board]").focus()
    page.keyboard.press("l")
    assert page.locator(".letter-side").is_visible()


def test_the_tools_keep_their_rows_whatever_the_zoom_says(table: Any) -> None:
    """A row that broke by the length of what it tells of the zoom would resize the board, and so the zoom, for ever."""
    heights = """async () => {
      const [ledge, seen] = [document.querySelector("[data-ledge]"), new Set()];
      for (let n = 0; n < 12; n++) {
        seen.add(ledge.offsetHeight);
        await new Promise((done) => requestAnimationFrame(done));
      }
      return [...seen];
    }"""
    for width in range(1340, 1460, 20):
        for height in (680, 700, 900):
            table.set_viewport_size({"width": width, "height": height})
            table.wait_for_timeout(80)
            assert len(table.evaluate(heights)) == 1, (width, height)
    scale = table.locator("[data-scale]").locator("..")
    told = [scale.bounding_box()["width"]]
    for name in ("Zoom in", "1 : 1", "Fit"):
        table.get_by_role("button", name=name, exact=True).click()
        told.append(scale.bounding_box()["width"])
    assert len(set(told)) == 1, told
