"""Marking on the review table, by mouse, touch and keys, against the running portal and the real picture engine."""

import hashlib
from types import SimpleNamespace
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from reviews import jobs
from reviews.actions import hand_ins, notes
from reviews.actions.jobs import Claim
from reviews.models import Note, OptionMark
from reviews.rules.states import PictureState
from reviews.tasks.pictures import read_picture
from tests.browser.hands import until
from tests.cast import gather
from tests.makers import a_book, a_jpeg

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WIDTH, HEIGHT = 1521, 771  # odd, and more than one tile at every level but the last


@pytest.fixture
def table(visit: Any) -> Any:
    """A hand-in waiting for its answer, and a way to sit down at its table."""
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    data = a_jpeg(3, (WIDTH, HEIGHT))
    upload = SimpleUploadedFile("pages 4-5.jpg", data, content_type="image/jpeg")
    picture = hand_ins.add_picture(passage.pk, upload, sha256=hashlib.sha256(data).hexdigest(), actor=cast.illustrator)
    # What the worker would do with a new picture.
    read_picture(Claim(job_id=0, kind=jobs.RENDITIONS, subject_id=picture.pk, key="", attempt=1, token=""))
    picture.refresh_from_db()
    assert picture.state == PictureState.READY, picture.reason_code
    hand_ins.hand_in(picture.hand_in_id, cover_note="", actor=cast.illustrator)

    def sit_down(seat: Any, **options: Any) -> Any:
        return visit(seat.person, f"/passages/{passage.pk}/", **options)

    return SimpleNamespace(cast=cast, passage=passage, picture=picture, sit_down=sit_down)


def wait_for_tiles(page: Any, size: str = "/tiles/") -> None:
    page.locator(f".leaflet-tile-loaded img[src*='{size}']").first.wait_for(state="attached")


def art(page: Any) -> dict[str, float]:
    """Where the picture lies on the screen."""
    return page.locator("[data-board] .leaflet-image-layer").bounding_box()


def on_art(page: Any, x: float, y: float) -> tuple[float, float]:
    box = art(page)
    return box["x"] + x * box["width"], box["y"] + y * box["height"]


def write(page: Any, words: str, cause: str = "direction") -> None:
    page.get_by_label("What do you ask for here?").fill(words)
    page.check(f"[name=cause][value={cause}]")
    page.get_by_role("button", name="Write it in the letter").click()
    page.locator("[data-note-form]").wait_for(state="hidden")


def the_note() -> Note:
    return Note.objects.get()


def close_to(points: list[list[float]], wanted: list[list[float]]) -> bool:
    """Within two screen pixels of the whole picture shown some 900 px wide."""
    pairs = [(a, b) for point, want in zip(points, wanted, strict=True) for a, b in zip(point, want, strict=True)]
    return all(abs(a - b) < 2 / 400 for a, b in pairs)


def test_a_box_drawn_by_mouse_becomes_a_note_in_the_letter(table):
    page = table.sit_down(table.cast.art_director)
    wait_for_tiles(page)
    page.get_by_role("button", name="Box").click()
    page.mouse.move(*on_art(page, 0.2, 0.3))
    page.mouse.down()
    page.mouse.move(*on_art(page, 0.4, 0.5), steps=4)
    page.mouse.move(*on_art(page, 0.5, 0.6), steps=4)
    page.mouse.up()
    write(page, "The pail is too small.", "direction")
    note = the_note()
    assert (note.words, note.cause, note.region["kind"]) == ("The pail is too small.", "direction", "box")
    assert close_to(note.region["points"], [[0.2, 0.3], [0.5, 0.6]])
    card = page.locator(f"[data-note='{note.pk}']")
    assert "The pail is too small." in card.inner_text()
    assert "chosen" in card.get_attribute("class")
    assert page.locator("[data-said]").inner_text() == "Note 1 is written in the letter. It is not sent yet."
    assert page.problems == []


def test_a_point_is_set_by_keys_alone(table):
    page = table.sit_down(table.cast.art_director)
    wait_for_tiles(page)
    page.get_by_role("button", name="Point").focus()
    page.keyboard.press("Enter")
    for key in ["ArrowRight"] * 5 + ["ArrowUp"] * 3 + ["Enter"]:
        page.keyboard.press(key)
    page.keyboard.type("Who is this?")
    page.keyboard.press("Tab")
    assert page.locator("[name=cause]:checked").count() == 0, "why is for the writer to say"
    for _ in range(2):  # radios: back past the first to the last, praise, and on to a question
        page.keyboard.press("ArrowUp")
    page.keyboard.press("Control+Enter")
    page.locator("[data-note-form]").wait_for(state="hidden")
    note = the_note()
    box = art(page)
    wanted = [[0.5 + 5 * 12 / box["width"], 0.5 - 3 * 12 / box["height"]]]
    assert (note.words, note.cause, note.region["kind"]) == ("Who is this?", "question", "point")
    assert close_to(note.region["points"], wanted)


def test_a_box_is_sized_by_keys_and_an_outline_closed_by_keys(table):
    page = table.sit_down(table.cast.art_director)
    wait_for_tiles(page)
    page.get_by_role("button", name="Box").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowLeft")
    before = art(page)
    for _ in range(4):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    write(page, "Wider.")
    [[x0, _], [x1, _]] = the_note().region["points"]
    assert (x1 - x0) * before["width"] == pytest.approx(120 + 4 * 12, abs=1.5)

    page.get_by_role("button", name="Outline").focus()
    page.keyboard.press("Enter")
    for key in ["Space", *["ArrowDown"] * 4, "Space", *["ArrowRight"] * 4, "Space", "Enter"]:
        page.keyboard.press(key)
    write(page, "This corner.")
    outline = Note.objects.order_by("-pk").first()
    assert outline.region["kind"] == "outline"
    assert len(outline.region["points"]) == 3


def test_escape_puts_the_tool_down_and_nothing_is_written(table):
    page = table.sit_down(table.cast.art_director)
    wait_for_tiles(page)
    page.get_by_role("button", name="Box").click()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Escape")
    assert page.get_by_role("button", name="Box").get_attribute("aria-pressed") == "false"
    assert page.locator("[data-note-form]").is_hidden()
    assert page.locator(".pin").count() == 0
    assert not Note.objects.exists()


def test_an_outline_is_drawn_by_finger_and_two_fingers_only_zoom(table):
    page = table.sit_down(table.cast.editor, viewport={"width": 820, "height": 1180}, has_touch=True)
    wait_for_tiles(page)
    fingers = page.context.new_cdp_session(page)

    def touch(kind: str, *places: tuple[float, float]) -> None:
        points = [{"x": x, "y": y, "id": at} for at, (x, y) in enumerate(places)]
        fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    page.get_by_role("button", name="Outline").tap()
    scale = page.locator("[data-scale]").inner_text()
    left, right = on_art(page, 0.45, 0.5), on_art(page, 0.55, 0.5)
    touch("touchStart", left)
    touch("touchStart", left, right)
    for step in range(8):
        touch("touchMove", (left[0] - 9 * step, left[1]), (right[0] + 9 * step, right[1]))
    touch("touchEnd")
    until(page, lambda: page.locator("[data-scale]").inner_text() != scale)
    assert page.locator("[data-note-form]").is_hidden()

    page.get_by_role("button", name="Fit").tap()
    ring = [(0.3, 0.3), (0.5, 0.25), (0.7, 0.4), (0.6, 0.7), (0.35, 0.65)]
    places = [on_art(page, x, y) for x, y in ring]
    touch("touchStart", places[0])
    for a, b in zip(places, [*places[1:], places[0]], strict=True):
        for part in range(1, 6):
            touch("touchMove", (a[0] + (b[0] - a[0]) * part / 5, a[1] + (b[1] - a[1]) * part / 5))
    touch("touchEnd")
    write(page, "All of this is too dark.")
    region = the_note().region
    assert region["kind"] == "outline"
    assert 5 <= len(region["points"]) <= 12
    xs = [x for x, _ in region["points"]]
    assert (min(xs), max(xs)) == (pytest.approx(0.3, abs=0.02), pytest.approx(0.7, abs=0.02))


def test_a_box_needs_no_drag_and_can_be_placed_by_numbers(table):
    page = table.sit_down(table.cast.art_director)
    wait_for_tiles(page)
    page.get_by_role("button", name="Box").click()
    page.mouse.click(*on_art(page, 0.2, 0.2))
    page.mouse.click(*on_art(page, 0.4, 0.4))
    page.get_by_text("Place it by numbers").click()
    page.get_by_label("From the left").fill("253")  # the middle of 506 mm: two pages and the bleed
    page.get_by_label("Width").fill("50.6")
    write(page, "Here instead.")
    [[x0, _], [x1, _]] = the_note().region["points"]
    assert (x0, x1) == (pytest.approx(0.5, abs=2e-4), pytest.approx(0.6, abs=2e-4))


def test_flags_stay_on_their_places_at_every_zoom(table):
    places = [(0.6, 0.4), (0.25, 0.5), (0.9, 0.9)]  # from the top, as the letter numbers them
    for x, y in places:
        region = {"kind": "point", "points": [[x, y]]}
        notes.pin_note(
            table.passage.pk, table.picture.pk, region=region, words="Look.", cause="question", actor=table.cast.editor
        )
    page = table.sit_down(table.cast.art_director)
    wait_for_tiles(page)
    for button in ["Fit", "1 : 1", "Print size", "Zoom in", "Fit"]:
        page.get_by_role("button", name=button, exact=True).click()
        for number, (x, y) in enumerate(places, start=1):
            cross = page.locator(f".pin[aria-label^='Note {number},'] .cross").bounding_box()
            wanted = on_art(page, x, y)
            assert cross["x"] + cross["width"] / 2 == pytest.approx(wanted[0], abs=1.5)
            assert cross["y"] + cross["height"] / 2 == pytest.approx(wanted[1], abs=1.5)


def test_the_art_cannot_be_pushed_off_the_table(table):
    page = table.sit_down(table.cast.art_director)
    wait_for_tiles(page)
    page.get_by_role("button", name="1 : 1", exact=True).click()
    board = page.locator("[data-board]").bounding_box()
    middle = (board["x"] + board["width"] / 2, board["y"] + board["height"] / 2)
    for _ in range(6):
        page.mouse.move(*middle)
        page.mouse.down()
        page.mouse.move(middle[0] + 400, middle[1] + 250, steps=3)
        page.mouse.up()
    # The last throw may still be running out.
    until(page, lambda: art(page)["x"] < middle[0] + 2 and art(page)["y"] < middle[1] + 2)


def test_flag_and_paragraph_choose_each_other(table):
    for x in (0.2, 0.8):
        region = {"kind": "point", "points": [[x, 0.5]]}
        notes.pin_note(
            table.passage.pk,
            table.picture.pk,
            region=region,
            words=f"At {x}",
            cause="direction",
            actor=table.cast.editor,
        )
    first, second = Note.objects.order_by("pk").values_list("pk", flat=True)
    page = table.sit_down(table.cast.art_director)
    wait_for_tiles(page)
    page.locator(f"[data-pin='{second}']").focus()
    page.keyboard.press("Enter")
    assert page.locator(".note.chosen").get_attribute("data-note") == str(second)
    page.locator(f"[data-show-note='{first}']").click()
    assert page.locator(".pin.chosen").get_attribute("data-pin") == str(first)
    assert page.locator(".pin[aria-pressed=true]").count() == 1


def test_a_lost_answer_keeps_the_words_and_says_so(table):
    page = table.sit_down(table.cast.art_director)
    wait_for_tiles(page)
    page.route("**/notes/", lambda route: route.abort())
    page.get_by_role("button", name="Point").click()
    page.mouse.click(*on_art(page, 0.5, 0.5))
    page.get_by_label("What do you ask for here?").fill("Kept words")
    page.check("[name=cause][value=direction]")
    page.get_by_role("button", name="Write it in the letter").click()
    page.locator("[data-wrong]").wait_for()
    assert "did not arrive" in page.locator("[data-wrong]").inner_text()
    assert page.get_by_label("What do you ask for here?").input_value() == "Kept words"
    assert not Note.objects.exists()


def test_own_note_is_changed_withdrawn_and_brought_back(table):
    region = {"kind": "point", "points": [[0.5, 0.5]]}
    note = notes.pin_note(
        table.passage.pk, table.picture.pk, region=region, words="Once", cause="direction", actor=table.cast.editor
    )
    page = table.sit_down(table.cast.editor)
    wait_for_tiles(page)
    page.get_by_role("button", name="Change note 1").click()
    page.get_by_label("What do you ask for here?").fill("Twice")
    page.get_by_role("button", name="Keep the changes").click()
    page.get_by_text("Note 1 is changed.").wait_for()
    note.refresh_from_db()
    assert (note.words, note.region) == ("Twice", region)
    page.get_by_role("button", name="Withdraw note 1").click()
    page.get_by_text("Note 1 is withdrawn.").wait_for()
    assert page.locator(".pin").count() == 0
    page.get_by_role("button", name="Undo").click()
    page.locator(".pin").wait_for()
    note.refresh_from_db()
    assert note.state == "unsent"


def test_an_option_is_marked_beside_its_picture(table):
    page = table.sit_down(table.cast.editor)
    wait_for_tiles(page)
    caption = page.locator(f"[data-caption-of='{table.picture.pk}']")
    caption.get_by_label("Why").fill("The eye goes to the pail.")
    caption.get_by_role("button", name="Not this").click()
    caption.get_by_text("The eye goes to the pail.").wait_for()
    mark = OptionMark.objects.get()
    assert (mark.verdict, mark.why, mark.seat) == ("not_this", "The eye goes to the pail.", table.cast.editor)
    said = caption.locator(".option-form [data-mark-said]")
    assert said.inner_text() == "Your mark on option 1 is kept."
    assert caption.get_by_role("button", name="Not this").evaluate("button => button === document.activeElement")
    assert "only-read-aloud" in page.locator("[data-said]").get_attribute("class"), "no slip lies on the next field"
    caption.get_by_role("button", name="Take my mark back").click()
    caption.get_by_text("Your mark on option 1 is taken back.").wait_for()
    assert caption.locator(".option-mark").count() == 0
    assert caption.get_by_role("button", name="Closest", exact=True).evaluate("it => it === document.activeElement")
    assert not OptionMark.objects.exists()
    assert page.locator("[data-board]").is_visible()
    assert page.problems == []


def test_the_page_is_read_without_javascript(table):
    region = {"kind": "point", "points": [[0.5, 0.5]]}
    notes.pin_note(
        table.passage.pk, table.picture.pk, region=region, words="Read me", cause="text", actor=table.cast.editor
    )
    page = table.sit_down(table.cast.art_director, java_script_enabled=False)
    assert page.get_by_text("Read me").is_visible()
    assert page.locator(".note .cause").inner_text() == "The text changed"
    assert page.locator(".option-art img").is_visible()
    assert page.locator("[data-board]").is_hidden()


def test_the_table_has_no_known_barrier(table):
    from axe_playwright_python.sync_playwright import Axe

    region = {"kind": "box", "points": [[0.2, 0.2], [0.4, 0.4]]}
    notes.pin_note(
        table.passage.pk,
        table.picture.pk,
        region=region,
        words="A box",
        cause="direction",
        actor=table.cast.art_director,
    )
    for width in (1440, 390):
        page = table.sit_down(table.cast.art_director, viewport={"width": width, "height": 900})
        wait_for_tiles(page)
        page.get_by_role("button", name="Point").click()
        page.mouse.click(*on_art(page, 0.7, 0.7))
        found = Axe().run(page)
        assert [(one["id"], one["nodes"][0]["target"]) for one in found.response["violations"]] == []
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        assert page.problems == []


def test_a_tile_that_is_lost_once_is_asked_for_again(table):
    page = table.sit_down(table.cast.art_director)
    wait_for_tiles(page)
    asked: list[str] = []

    def lose_the_first(route: Any) -> None:
        asked.append(route.request.url)
        if asked.count(route.request.url) == 1:
            route.abort()
        else:
            route.continue_()

    page.route("**/tiles/**", lose_the_first)
    page.get_by_role("button", name="1 : 1", exact=True).click()
    wait_for_tiles(page, "/512,512/")
    assert any(asked.count(url) == 2 for url in asked)


@pytest.mark.parametrize("width", [820, 390])
def test_the_marking_tools_stay_in_sight_under_a_picture_taller_than_the_window(table, width):
    page = table.sit_down(table.cast.art_director, viewport={"width": width, "height": 600})
    tray = page.get_by_role("button", name="Outline", exact=True)
    tray.wait_for()
    box = tray.bounding_box()
    assert box["y"] + box["height"] <= 600
    middle = [box["x"] + box["width"] / 2, box["y"] + box["height"] / 2]
    assert page.evaluate("(at) => document.elementFromPoint(...at).closest('[data-tool]') !== null", middle)


def test_the_head_of_the_table_keeps_its_ways_on_its_first_row(table):
    """As after a letter: who holds it, the date and the rounds are told at length, and two ways lead on."""
    page = table.sit_down(table.cast.art_director)
    page.locator(".table-deeds .button").first.wait_for()
    tops = page.evaluate("""() => {
        const [facts, deeds] = ["facts", "table-deeds"].map((name) => document.querySelector(`.table-head .${name}`));
        for (const words of ["With the illustrator, asked for changes", "one round over the two in the fee"]) {
            facts.append(Object.assign(document.createElement("span"), { textContent: words }));
        }
        deeds.append(deeds.firstElementChild.cloneNode(true), deeds.firstElementChild.cloneNode(true));
        const boxes = [facts.parentElement, deeds].map((one) => one.getBoundingClientRect());
        return boxes.map(({ top, bottom }) => [top, bottom]);
    }""")
    (top, bottom), (deeds_top, deeds_bottom) = tops
    assert abs((deeds_top - top) - (bottom - deeds_bottom)) < 3, "beside the facts, not below them"
