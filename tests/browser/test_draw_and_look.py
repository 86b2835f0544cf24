"""Drawing over the art with a mouse and with a pen, and the ways of looking at it."""

from __future__ import annotations

import hashlib
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from reviews import jobs
from reviews.actions import hand_ins
from reviews.actions.jobs import Claim
from reviews.actions.second_voice import agree
from reviews.models import HandIn, Note, Picture
from reviews.tasks.pictures import read_picture
from tests.browser.hands import window
from tests.cast import gather
from tests.letter_scene import approved
from tests.makers import a_book, a_jpeg

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# A pen’s pointer events, with the pressure that a test’s mouse cannot give.
PEN = """([points, pressures]) => {
  const board = document.querySelector("[data-board]");
  const fire = (type, [x, y], pressure) => board.dispatchEvent(new PointerEvent(type, {
    bubbles: true, cancelable: true, pointerId: 1, isPrimary: true, pointerType: "pen", pressure,
    clientX: x, clientY: y, button: 0, buttons: type === "pointerup" ? 0 : 1,
  }));
  board.setPointerCapture = () => {};
  fire("pointerdown", points[0], pressures[0]);
  points.slice(1).forEach((point, at) => fire("pointermove", point, pressures[at + 1]));
  fire("pointerup", points.at(-1), 0);
}"""


def handed(cast: Any, kind: str, seed: int) -> HandIn:
    """Hand in one picture that was really read, so that it lies on the board."""
    passage = cast.passage("Pages 4–5", kind)
    data = a_jpeg(seed, (900, 450))
    upload = SimpleUploadedFile(f"pages 4-5 {seed}.jpg", data, content_type="image/jpeg")
    picture = hand_ins.add_picture(passage.pk, upload, sha256=hashlib.sha256(data).hexdigest(), actor=cast.illustrator)
    read_picture(Claim(job_id=0, kind=jobs.RENDITIONS, subject_id=picture.pk, key="", attempt=1, token=""))
    return hand_ins.hand_in(picture.hand_in_id, cover_note="", actor=cast.illustrator)


@pytest.fixture
def cast():
    return gather(a_book())


def at_table(visit: Any, cast: Any, handed_in: HandIn, **options: Any) -> Any:
    page = visit(cast.art_director.person, f"/passages/{handed_in.passage_id}/", **options)
    page.locator("[data-board] .leaflet-image-layer").wait_for()
    return page


def place(page: Any, x: float, y: float) -> tuple[float, float]:
    box = page.locator("[data-board] .leaflet-preview-pane img").bounding_box()
    return box["x"] + x * box["width"], box["y"] + y * box["height"]


def draw(page: Any, *points: tuple[float, float]) -> None:
    page.mouse.move(*place(page, *points[0]))
    page.mouse.down()
    for point in points[1:]:
        page.mouse.move(*place(page, *point), steps=4)
    page.mouse.up()


def test_strokes_are_drawn_taken_back_and_kept_with_their_note(visit: Any, cast: Any):
    page = at_table(visit, cast, handed(cast, "ideas", 3))
    page.locator("[data-tool=draw]").click()
    draw(page, (0.2, 0.3), (0.4, 0.3), (0.4, 0.5))
    draw(page, (0.6, 0.6), (0.7, 0.6))
    draw(page, (0.1, 0.1), (0.15, 0.1))
    page.keyboard.press("Backspace")
    page.get_by_text("2 strokes left.").wait_for()
    page.keyboard.press("Enter")
    page.get_by_text("A drawing, in the middle").wait_for()
    assert page.get_by_text("Place it by numbers").is_hidden(), "a drawing is not moved by numbers"
    page.get_by_label("What do you ask for here?").fill("Let the path bend so.")
    page.check("[name=cause][value=direction]")
    page.get_by_role("button", name="Write it in the letter").click()
    page.locator("[data-note-form]").wait_for(state="hidden")
    note = Note.objects.get()
    assert [len(stroke) >= 2 for stroke in note.strokes] == [True, True]
    (x, y, pressure) = note.strokes[0][0]
    assert abs(x - 0.2) < 0.01 and abs(y - 0.3) < 0.02 and pressure == 0.5
    assert len(note.strokes[0]) < 14, "what lies on a straight line is not kept"
    # Shown again, in lines that grow with the picture, and taken off with all other marks.
    lines = page.locator("[data-board] path.stroke:not(.draft)")
    lines.nth(1).wait_for(state="attached")
    assert lines.count() == 2
    width = lines.first.get_attribute("stroke-width")
    page.get_by_role("button", name="Zoom in").click()
    is_wider = "was => Number(document.querySelector('path.stroke').getAttribute('stroke-width')) > was * 1.3"
    page.wait_for_function(is_wider, arg=float(width))
    page.locator("[data-marks-off]").click()
    assert lines.first.is_hidden()
    assert page.problems == []


def test_a_pen_gives_its_pressure_and_a_palm_that_is_put_down_draws_nothing(visit: Any, cast: Any):
    page = at_table(visit, cast, handed(cast, "ideas", 3))
    page.locator("[data-tool=draw]").click()
    points = [list(place(page, 0.2 + 0.05 * step, 0.4)) for step in range(8)]
    page.evaluate(PEN, [points, [0.1] * 4 + [1.0] * 4])
    page.get_by_text("1 stroke.").wait_for()
    page.keyboard.press("Enter")
    page.get_by_label("What do you ask for here?").fill("Thicker to the right.")
    page.check("[name=cause][value=direction]")
    page.get_by_role("button", name="Write it in the letter").click()
    page.locator("[data-note-form]").wait_for(state="hidden")
    pressures = [point[2] for point in Note.objects.get().strokes[0]]
    assert min(pressures) == 0.0 and max(pressures) == 1.0
    page.locator("[data-board] path.stroke:not(.draft)").nth(1).wait_for(state="attached")
    widths = page.locator("[data-board] path.stroke").evaluate_all(
        "all => all.map((it) => it.getAttribute('stroke-width'))"
    )
    assert len(set(widths)) == 2, "drawn thinner and wider"
    page.locator("[data-tool=draw]").click()
    page.keyboard.press("Escape")
    assert page.locator("[data-note-form]").is_hidden() and Note.objects.count() == 1


def looks(page: Any) -> str:
    return page.locator("[data-board]").get_attribute("data-looks")


def test_each_way_of_looking_has_a_letter_and_takes_itself_back(visit: Any, cast: Any):
    page = at_table(visit, cast, handed(cast, "ideas", 3))
    board = page.locator("[data-board]")
    picture = page.locator("[data-board] .leaflet-preview-pane")
    board.focus()
    page.keyboard.press("v")
    assert looks(page) == "grey" and "grayscale" in picture.evaluate("it => getComputedStyle(it).filter")
    page.keyboard.press("s")
    assert looks(page) == "squint", "squinted is grey already"
    page.keyboard.press("s")
    assert picture.evaluate("it => getComputedStyle(it).filter") == "none"
    page.keyboard.press("o")
    page.locator(".loupe").wait_for()
    page.keyboard.press("o")
    assert page.locator(".loupe").count() == 0
    before = page.locator("[data-scale]").inner_text()
    page.keyboard.press("d")
    assert page.locator("[data-scale]").inner_text() != before
    page.keyboard.press("d")
    assert page.locator("[data-scale]").inner_text() == before
    # Letters typed elsewhere are words.
    page.locator("[data-leaf], .look summary").first.focus()
    page.keyboard.press("v")
    assert looks(page) == ""
    assert page.problems == []


def test_in_a_mirror_a_mark_stands_where_the_hand_made_it(visit: Any, cast: Any):
    page = at_table(visit, cast, handed(cast, "ideas", 3))
    page.locator("[data-board]").focus()
    page.keyboard.press("r")
    page.get_by_role("button", name="Point").click()
    # At a fifth from the left of what is seen lies what is a fifth from the right of the art.
    page.mouse.click(*place(page, 0.2, 0.5))
    region = page.evaluate("JSON.parse(document.querySelector('[data-note-form]').elements.region.value)")
    assert abs(region["points"][0][0] - 0.8) < 0.01
    assert page.problems == []


@pytest.mark.parametrize("width", [390, 820])
def test_the_fold_of_looks_lies_on_the_screen_of_a_phone_and_a_tablet(visit: Any, cast: Any, width: int):
    page = at_table(visit, cast, handed(cast, "ideas", 3), **window(width, "touch"))
    from axe_playwright_python.sync_playwright import Axe

    page.locator(".look summary").tap()
    assert [(one["id"], one["nodes"][0]["target"]) for one in Axe().run(page).response["violations"]] == []
    box = page.locator(".look .slip").bounding_box()
    assert box["x"] >= 0 and box["x"] + box["width"] <= width
    page.locator("[data-look=grey]").tap()
    assert looks(page) == "grey"


def test_space_shows_what_was_approved_as_long_as_it_is_held(visit: Any, cast: Any):
    approved(cast, cast.passage("Pages 4–5", "ideas"), 0)
    approved(cast, cast.passage("Pages 4–5", "sketch"), 1)
    agree(HandIn.objects.get(passage__spread__label="Pages 4–5", passage__stage__kind="sketch").pk, actor=cast.editor)
    line = handed(cast, "line", 4)
    # The pictures of a test’s approvals are never drawn: that one lies there is all that is asked here.
    Picture.objects.exclude(hand_in=line).update(has_preview=True)
    page = at_table(visit, cast, line, has_pictures=False)
    beneath = page.locator(".leaflet-under-pane img")
    page.locator("[data-board]").focus()
    page.keyboard.down(" ")
    beneath.wait_for(state="attached")
    assert page.locator("[data-said]").inner_text() == "Approved: Sketch"
    page.keyboard.up(" ")
    beneath.wait_for(state="detached")
    # Let go before the answer came, nothing is shown; pressed as a button, it stays until pressed again.
    page.locator(".look summary").click()
    page.locator("[data-look=under]").click()
    beneath.wait_for(state="attached")
    page.locator("[data-look=under]").click()
    beneath.wait_for(state="detached")
    assert page.problems == []
