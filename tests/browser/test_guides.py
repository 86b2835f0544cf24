"""Guides over the art on the review table: by button and by key, named below the art, at three widths."""

import hashlib
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from reviews import jobs
from reviews.actions import hand_ins
from reviews.actions.jobs import Claim
from reviews.tasks.pictures import read_picture
from tests.cast import gather
from tests.makers import a_book, a_jpeg

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def page(visit: Any) -> Any:
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    data = a_jpeg(3, (1518, 768))  # 506 × 256 mm at 3 pixels to the mm
    upload = SimpleUploadedFile("pages 4-5.jpg", data, content_type="image/jpeg")
    picture = hand_ins.add_picture(passage.pk, upload, sha256=hashlib.sha256(data).hexdigest(), actor=cast.illustrator)
    read_picture(Claim(job_id=0, kind=jobs.RENDITIONS, subject_id=picture.pk, key="", attempt=1, token=""))
    hand_ins.hand_in(picture.hand_in_id, cover_note="", actor=cast.illustrator)

    def sit_down(width: int) -> Any:
        return visit(cast.art_director.person, f"/passages/{passage.pk}/", viewport={"width": width, "height": 900})

    return sit_down


def shown(page: Any) -> set[str]:
    """Name the kinds of guide that lie over the art."""
    classes = page.locator("[data-board] path.guide").evaluate_all("all => all.map(one => one.getAttribute('class'))")
    return {name for one in classes for name in one.split()} - {"guide", "leaflet-interactive"}


@pytest.mark.parametrize(("width", "begins_shown"), [(1440, True), (820, True), (390, False)])
def test_button_and_key_show_and_hide_every_guide_and_say_what_they_are(page, width, begins_shown):
    table = page(width)
    button, key = table.locator("[data-guides]"), table.locator("[data-guide-key]")
    table.locator("[data-board] .leaflet-image-layer").wait_for()
    all_of_them = {"trim", "bleed", "safety", "fold", "gutter"}
    assert button.get_attribute("aria-pressed") == str(begins_shown).lower()
    assert shown(table) == (all_of_them if begins_shown else set()) and key.is_visible() == begins_shown
    button.click()
    assert shown(table) == (set() if begins_shown else all_of_them)
    table.locator("[data-board]").focus()
    table.keyboard.press("g")
    assert shown(table) == (all_of_them if begins_shown else set())
    if not begins_shown:
        button.click()
    assert key.is_visible() and key.locator("[data-guide-kind]:visible").count() == len(all_of_them)
    assert table.evaluate("document.documentElement.scrollWidth") <= width
    assert table.problems == []


def test_the_trim_lies_where_the_millimetres_say(page):
    table = page(1440)
    table.locator("[data-board] .leaflet-image-layer").wait_for()
    art = table.locator("[data-board] .leaflet-image-layer").bounding_box()
    trim = table.locator("[data-board] path.guide.trim").bounding_box()
    # Three of 506 mm on each side, within the width of the line.
    assert trim["x"] - art["x"] == pytest.approx(art["width"] * 3 / 506, abs=1.5)
    assert trim["width"] == pytest.approx(art["width"] * 500 / 506, abs=3)


def test_g_in_a_field_is_a_letter_and_toggles_nothing(page):
    table = page(1440)
    table.locator("[data-board] .leaflet-image-layer").wait_for()
    table.keyboard.press("g")  # nothing has the focus
    assert table.locator("[data-guides]").get_attribute("aria-pressed") == "true"
