"""A special finish over its art: light follows the pointer, and stands still for whoever asked for less motion."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from tests.cast import gather
from tests.letter_scene import answered, sent
from tests.makers import a_book
from tests.views.test_on_page import CMYK_PROFILE, SMALL, art, handed, in_draft, px, tiff
from tests.views.test_plates import STAGES, finish, plate_of, png, shapes, told
from tests.views.test_spot_channel_plates import discs, with_channels

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def scene() -> Any:
    cast = gather(a_book(inside=STAGES, **SMALL))
    passage = handed(in_draft(cast, "colour", tiff(art(px(126), px(66), 43), "CMYK", CMYK_PROFILE)), cast)
    answered(cast, passage, "approve")
    sent(cast)
    told(cast, plate_of(cast, shapes()))
    return cast


#: The middle of the small disc, of the large one, and a place far from both, as fractions of the picture.
PLACES = ((600 / 2976, 500 / 1559), (2300 / 2976, 1000 / 1559), (2850 / 2976, 100 / 1559))


def pixels(page: Any, *places: tuple[float, float]) -> list[list[int]]:
    """Read the canvas at some places, else at `PLACES`."""
    return page.locator("canvas.finish-light").evaluate(
        """(canvas, places) => places.map(([x, y]) => [...canvas.getContext("2d").getImageData(
        Math.round(x * canvas.width), Math.round(y * canvas.height), 1, 1).data])""",
        places or PLACES,
    )


def looked_at(visit: Any, cast: Any, **options: Any) -> Any:
    page = visit(cast.production.person, reverse("reviews:passage", args=[finish(cast).pk]), **options)
    page.locator("canvas.finish-light").wait_for()
    return page


def test_light_moves_over_the_metal_and_leaves_the_art_beside_it_as_it_is(visit, scene):
    page = looked_at(visit, scene)
    before = pixels(page)
    canvas = page.locator("canvas.finish-light")
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.2, box["y"] + box["height"] * 0.3)
    page.wait_for_function("document.querySelector('canvas.finish-light').dataset.light !== '-0.30 -0.40'")
    page.mouse.move(box["x"] + box["width"] * 0.78, box["y"] + box["height"] * 0.64)
    page.wait_for_function("Number(document.querySelector('canvas.finish-light').dataset.light.split(' ')[0]) > 0.4")
    after = pixels(page)
    large, beside = 1, 2
    assert sum(after[large][:3]) > sum(before[large][:3]) + 60, "the lamp came over the large disc"
    assert after[large][0] > after[large][2] + 15, "gold is warmer than it is blue"
    assert after[beside] == before[beside]
    assert page.problems == []


def test_who_asked_for_less_motion_sees_it_stand_still(visit, scene):
    page = looked_at(visit, scene, reduced_motion="reduce")
    canvas = page.locator("canvas.finish-light")
    canvas.scroll_into_view_if_needed()
    before, box = pixels(page), canvas.bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.8, box["y"] + box["height"] * 0.6)
    page.wait_for_timeout(300)
    assert canvas.get_attribute("data-light") == "-0.30 -0.40" and pixels(page) == before


@pytest.mark.parametrize("width", [1440, 820, 390])
def test_the_plate_fits_every_width(visit, scene, width):
    page = looked_at(visit, scene, viewport={"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_without_scripts_the_plate_lies_over_the_art(visit, scene):
    page = visit(
        scene.production.person, reverse("reviews:passage", args=[finish(scene).pk]), java_script_enabled=False
    )
    assert page.locator("image.plate-over").count() == 1 and page.locator("canvas.finish-light").count() == 0


def test_light_moves_over_a_spot_channel_of_the_art_whatever_the_colour_its_file_gives_it(visit, scene):
    pale = ("Gold", 2, (0, 65535, 65535, 60000, 0))
    picture = in_draft(scene, "colour", with_channels(discs(), names=(pale,)), "Pages 6–7")
    passage = handed(picture, scene)
    told(scene, picture, channel=0)
    page = visit(scene.production.person, reverse("reviews:passage", args=[passage.pk]))
    canvas = page.locator("canvas.finish-light")
    canvas.wait_for()
    disc, beside = (1150 / 1488, 500 / 780), (1400 / 1488, 60 / 780)
    before = pixels(page, disc, beside)
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.78, box["y"] + box["height"] * 0.64)
    page.wait_for_function("document.querySelector('canvas.finish-light').dataset.light !== '-0.30 -0.40'")
    after = pixels(page, disc, beside)
    assert sum(after[0][:3]) > sum(before[0][:3]) + 60, "it is metal, though the file calls its ink a pale yellow"
    assert after[1] == before[1]
    assert page.problems == []


def test_what_is_being_chosen_for_a_plate_of_a_draft_is_not_taken_away_by_the_check(visit, scene):
    passage = scene.passage("Pages 6–7", "colour")
    passage = handed(
        in_draft(scene, "colour", tiff(art(px(126), px(66), 44), "CMYK", CMYK_PROFILE), "Pages 6–7"), scene
    )
    answered(scene, passage, "approve")
    sent(scene)
    made = in_draft(scene, "finish", png(shapes()), "Pages 6–7", name="foil.png")
    address = reverse("reviews:draft-hand-in", args=[made.hand_in.passage_id])
    page = visit(scene.illustrator.person, address)
    finish_of = page.locator(f"#finish-{made.pk}")
    finish_of.wait_for()
    finish_of.evaluate("one => { one.mark = 'the same'; }")
    page.evaluate("document.dispatchEvent(new Event('hand-in-changed'))")
    page.wait_for_load_state("networkidle")
    assert finish_of.evaluate("one => one.mark") == "the same", "nothing new is said, so nothing is replaced"
    finish_of.select_option("emboss")
    finish_of.focus()
    told(scene, made, by=scene.illustrator)
    page.evaluate("document.dispatchEvent(new Event('hand-in-changed'))")
    page.wait_for_load_state("networkidle")
    assert finish_of.evaluate("one => one.mark") == "the same", "it is being filled in"
    page.locator("#cover-note").focus()
    page.get_by_text("The plate is being measured.").wait_for()
    assert finish_of.input_value() == "emboss"
