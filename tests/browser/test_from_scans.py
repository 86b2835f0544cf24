"""Joining scans and leaving only the ink, in a real browser: with the mouse, by keyboard, and without scripts."""

from __future__ import annotations

import io
from typing import Any

import pytest
from PIL import Image

from reviews.models import Derivation, HandIn, Job
from reviews.tasks.runner import run_job
from tests.cast import Cast, gather
from tests.imaging.scanned import Pixels, drawn_on_paper, inked_over_pencil, scan
from tests.imaging.test_pointed_stroke import LAID, a_point, sketched
from tests.makers import a_book

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def file_of(name: str, pixels: Pixels) -> dict[str, Any]:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG", dpi=(300, 300))
    return {"name": name, "mimeType": "image/png", "buffer": out.getvalue()}


@pytest.fixture(scope="module")
def scans() -> list[dict[str, Any]]:
    """One drawing in two parts, the second turned round on the glass, and ink over a blue sketch."""
    drawing = drawn_on_paper(900, 560, 701)
    return [
        file_of("tarn left.png", scan(drawing, 0, 0, 540, 560, 1).picture),
        file_of("tarn right.png", scan(drawing, 360, 0, 540, 560, 2, turn=180).picture),
        file_of("heron.png", inked_over_pencil(600, 420, 702, "blue")[0]),
    ]


@pytest.fixture
def cast() -> Cast:
    return gather(a_book())


@pytest.fixture
def studio(visit: Any, cast: Cast) -> Any:
    """Open the illustrator's draft."""

    def open_draft(width: int = 1440, **options: Any) -> Any:
        draft = f"/passages/{cast.passage('Pages 4–5', 'ideas').pk}/draft/"
        return visit(cast.illustrator.person, draft, viewport={"width": width, "height": 900}, **options)

    return open_draft


def work() -> None:
    """Do what waits for the worker, and what that asks for."""
    waiting = Job.objects.filter(state="queued", kind__in=["renditions", "derive"])
    while job := waiting.first():
        run_job(job.pk)


def put(page: Any, scans: list[dict[str, Any]]) -> None:
    # One after the other: two sent at once stand in the order in which they arrive.
    for n, one in enumerate(scans, start=1):
        page.set_input_files("[data-choose]", one)
        page.locator(f"[data-pictures] > li[data-picture]:nth-child({n})").wait_for()
    work()
    page.locator("[data-from-scans] summary").click()
    page.locator(f".scans li:nth-child({len(scans)}) input").wait_for()


def names_in_draft() -> list[str]:
    draft = HandIn.objects.get()
    return list(draft.pictures.filter(removed_at=None).order_by("position").values_list("file_name", flat=True))


def test_sheets_are_joined_beside_their_scans_kept_and_taken_back(studio: Any, scans: Any) -> None:
    page = studio()
    put(page, scans[:2])
    page.fill("#cover-note", "Scanned in two parts.")
    for name in ("tarn left.png", "tarn right.png"):
        page.get_by_role("checkbox", name=name).check()
    page.get_by_role("button", name="Join the sheets").click()
    page.get_by_role("heading", name="Joining tarn left.png and tarn right.png").wait_for()
    work()
    # The page notices by itself, and what was written but not kept yet is still there.
    page.locator(".made .result img").wait_for()
    assert page.input_value("#cover-note") == "Scanned in two parts."
    assert page.locator(".sources img").count() == 2
    assert "tarn right.png is turned 1" in page.locator(".recipe").inner_text()
    page.get_by_role("button", name="Use it in place of the sheets").click()
    page.get_by_text("is in the draft now").wait_for()
    assert names_in_draft() == ["tarn left, joined.png"]
    page.get_by_role("button", name="Undo").click()
    page.get_by_text("That is taken back").wait_for()
    assert names_in_draft() == ["tarn left.png", "tarn right.png"]
    page.get_by_role("button", name="Use it in place of the sheets").click()
    page.get_by_text("is in the draft now").wait_for()
    # Taking the joined picture out of the list brings the sheets back to it.
    page.locator("[data-pictures] [data-remove]").click()
    page.locator("[data-pictures] > li:nth-child(2)").wait_for()
    assert names_in_draft() == ["tarn left.png", "tarn right.png"]
    assert page.problems == []


def test_the_ink_is_left_alone_by_keyboard(studio: Any, scans: Any) -> None:
    page = studio()
    put(page, scans[2:])
    page.get_by_role("checkbox", name="heron.png").focus()
    page.keyboard.press("Space")
    page.get_by_role("button", name="Leave only the ink").focus()
    page.keyboard.press("Enter")
    page.locator("[data-derived-progress]").wait_for()
    work()
    keep = page.get_by_role("button", name="Use it in place of the scan")
    keep.wait_for()
    keep.focus()
    page.keyboard.press("Enter")
    page.get_by_text("is in the draft now").wait_for()
    assert names_in_draft() == ["heron, ink only.png"]


@pytest.mark.parametrize("width", [1440, 390])
def test_a_stroke_is_pointed_at_on_the_scan(studio: Any, width: int) -> None:
    from axe_playwright_python.sync_playwright import Axe

    seen, _, alone = sketched(LAID["violet"], 410)
    x, y = a_point(alone, 1)
    page = studio(width)
    put(page, [file_of("heron.png", seen)])
    page.locator(".point-in", has_text="heron.png").click()
    page.wait_for_url("**/pencil/")
    picture = page.locator("[data-scan]")
    picture.wait_for()
    box = picture.bounding_box()
    picture.click(position={"x": x * box["width"], "y": y * box["height"]})
    across, down = (float(page.get_by_label(label).input_value()) / 100 for label in ("From the left", "From the top"))
    assert abs(across - x) * box["width"] <= 1.5 and abs(down - y) * box["height"] <= 1.5
    ring = page.locator("[data-ring]").bounding_box()
    assert abs(ring["x"] + ring["width"] / 2 - box["x"] - x * box["width"]) <= 1.5
    assert page.locator("[data-canvas]").is_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    found = Axe().run(page)
    assert [(one["id"], one["nodes"][0]["target"]) for one in found.response["violations"]] == []
    # By keyboard the numbers do the same.
    page.get_by_label("From the left").press("ArrowUp")
    assert float(page.get_by_label("From the left").input_value()) > 100 * across
    page.get_by_role("button", name="Leave only the ink").click()
    page.locator("[data-derived-progress]").wait_for()
    work()
    page.locator(".made .result img").wait_for()
    assert "The violet under-drawing of heron.png is taken out" in page.locator(".recipe").inner_text()
    assert page.problems == []


def test_a_cover_note_that_cannot_be_saved_holds_the_press_and_is_told(studio: Any, scans: Any) -> None:
    page = studio()
    put(page, scans[2:])
    page.get_by_role("checkbox", name="heron.png").check()
    page.get_by_label("A cover note").fill("The heron stands still now.")
    page.route("**/words/", lambda route: route.abort())
    page.get_by_role("button", name="Leave only the ink").click()
    page.get_by_text("Your cover note could not be saved, so nothing was done yet.").wait_for()
    assert page.get_by_label("A cover note").input_value() == "The heron stands still now."
    assert page.get_by_role("checkbox", name="heron.png").is_checked()
    assert not Derivation.objects.exists()
    page.unroute("**/words/")
    page.get_by_role("button", name="Leave only the ink").click()
    page.locator("[data-derived-progress]").wait_for()
    assert HandIn.objects.get().cover_note == "The heron stands still now."
    assert page.get_by_text("is back. It is not sent yet").count() == 0


def test_it_works_without_scripts_and_says_why_it_cannot(studio: Any, scans: Any) -> None:
    page = studio(java_script_enabled=False)
    page.set_input_files("[data-choose]", [scans[0], scans[2]])
    page.get_by_role("button", name="Put them into the draft").click()
    work()
    page.reload()
    page.locator("[data-from-scans] summary").click()
    page.get_by_role("checkbox", name="tarn left.png").check()
    page.get_by_role("button", name="Join the sheets").click()
    assert page.get_by_text("Tick two or more sheets").is_visible()
    page.locator("[data-from-scans] summary").click()
    for name in ("tarn left.png", "heron.png"):
        page.get_by_role("checkbox", name=name).check()
    page.get_by_role("button", name="Join the sheets").click()
    work()
    page.get_by_role("button", name="Look again").click()
    assert "No certain overlap was found for heron.png" in page.locator(".made .said").inner_text()
    page.get_by_role("button", name="Dismiss").click()
    assert page.locator(".made").count() == 0


@pytest.mark.parametrize("width", [1440, 820, 390])
def test_nothing_stands_beyond_the_page_and_all_can_be_told_apart(studio: Any, scans: Any, width: int) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = studio(width)
    put(page, scans[:2])
    for name in ("tarn left.png", "tarn right.png"):
        page.get_by_role("checkbox", name=name).check()
    page.get_by_role("button", name="Join the sheets").click()
    page.locator("[data-derived-progress]").wait_for()
    work()
    page.locator(".made .result img").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert Derivation.objects.get().state == "made"
    found = Axe().run(page)
    assert [(one["id"], one["nodes"][0]["target"]) for one in found.response["violations"]] == []
    assert page.problems == []
