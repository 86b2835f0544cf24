"""What changed, on the review table: the earlier version laid over, places stepped through, notes found again."""

import hashlib
from types import SimpleNamespace
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from reviews.actions import hand_ins, letters, notes
from reviews.imaging.changes.measured import touch_bounds
from reviews.models import CarriedNote, Comparison, Job, Letter
from reviews.pages.wording.changes import remark_sentence
from reviews.queries.letters import letter_fingerprint
from reviews.tasks.runner import run_job
from tests.browser.hands import until
from tests.cast import gather
from tests.makers import a_book
from tests.tasks.test_comparisons import OWL, OWL_AFTER, SIZE, a_drawing

pytestmark = [
    pytest.mark.browser, pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("comparisons_made_once")
]  # fmt: skip
MARKED = {"Move the owl to the right.": (655, 230, 745, 370), "Is this stone where it was?": (1180, 480, 1420, 700)}


def do_all(kind: str) -> None:
    for job in Job.objects.filter(kind=kind, state="queued"):
        run_job(job.pk)
        job.refresh_from_db()
        assert job.state == "done", job.error


def deliver(cast: Any, passage: Any, data: bytes) -> Any:
    upload = SimpleUploadedFile("owl.jpg", data)
    picture = hand_ins.add_picture(passage.pk, upload, sha256=hashlib.sha256(data).hexdigest(), actor=cast.illustrator)
    do_all("renditions")
    return hand_ins.hand_in(picture.hand_in_id, actor=cast.illustrator)


def box_region(x0: float, y0: float, x1: float, y1: float) -> dict[str, Any]:
    return {"kind": "box", "points": [[x0 / SIZE[0], y0 / SIZE[1]], [x1 / SIZE[0], y1 / SIZE[1]]]}


@pytest.fixture
def table(visit: Any) -> Any:
    """A letter asked for two things; the second hand-in moved the owl and said both were done. Not compared yet."""
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    first = deliver(cast, passage, a_drawing(OWL)).pictures.get()
    for words, box in MARKED.items():
        notes.pin_note(passage.pk, first.pk, region=box_region(*box), words=words, cause="direction", actor=cast.editor)
    letters.set_answer(passage.pk, answer="ask", actor=cast.art_director)
    draft = Letter.objects.get(sent_at=None)
    letters.send_letter(draft.pk, looked_at=letter_fingerprint(draft), actor=cast.art_director)
    second = deliver(cast, passage, a_drawing(OWL_AFTER)).pictures.get()

    def sit_down(seat: Any, path: str = "", **options: Any) -> Any:
        return visit(seat.person, f"/passages/{passage.pk}/{path}", **options)

    return SimpleNamespace(cast=cast, passage=passage, second=second, sit_down=sit_down)


@pytest.fixture
def compared(table: Any) -> Any:
    do_all("compare")
    return table


def restate(**result: Any) -> None:
    """Let the comparison say something else, as it would of other pictures."""
    row = Comparison.objects.get()
    Comparison.objects.update(result=row.result | result)


def rail(page: Any) -> Any:
    page.locator("[data-tracing]").wait_for()
    return page.locator("[data-tracing]")


def box_of(page: Any, selector: str) -> dict[str, float]:
    return page.locator(selector).first.bounding_box()


def art(page: Any) -> dict[str, float]:
    return box_of(page, "[data-board] .leaflet-image-layer")


def lies_on(page: Any, wanted: dict[str, float], by: float = 4.0) -> bool:
    found = box_of(page, ".tracing-sheet")
    return all(abs(found[key] - wanted[key]) < by for key in ("x", "y", "width", "height"))


def test_the_earlier_version_is_laid_over_and_moves_with_the_new_one(compared):
    page = compared.sit_down(compared.cast.art_director)
    lay = rail(page).get_by_role("button", name="Overlay hand-in 1")
    lay.click()
    assert lay.get_attribute("aria-pressed") == "true"
    until(page, lambda: lies_on(page, art(page)))
    page.get_by_role("button", name="1 : 1", exact=True).click()
    until(page, lambda: lies_on(page, art(page), by=8))
    board = box_of(page, "[data-board]")
    page.mouse.move(board["x"] + 300, board["y"] + 80)
    page.mouse.down()
    page.mouse.move(board["x"] + 380, board["y"] + 140, steps=5)
    page.mouse.up()
    until(page, lambda: lies_on(page, art(page), by=8))
    page.locator("[data-board]").focus()
    page.keyboard.press("t")
    assert page.locator(".tracing-sheet").count() == 0
    page.keyboard.press("t")
    assert page.locator(".tracing-sheet").count() == 1
    assert page.problems == []


def test_the_sheet_is_made_fainter_and_pulled_back_by_slider_key_and_grip(compared):
    page = compared.sit_down(compared.cast.art_director)
    rail(page).get_by_role("button", name="Overlay hand-in 1").click()
    sheet = page.locator(".tracing-sheet")
    page.get_by_label("Opacity of the earlier version").fill("25")
    assert sheet.evaluate("sheet => sheet.style.opacity") == "0.25"
    page.locator("[data-board]").focus()
    page.keyboard.press("]")
    assert sheet.evaluate("sheet => sheet.style.opacity") == "0.35"
    page.get_by_label("How far the earlier version is wiped away").fill("50")
    assert sheet.evaluate("sheet => sheet.style.clipPath") == "inset(0px 0px 0px 50%)"
    grip, where = box_of(page, ".tracing-grip"), art(page)
    assert grip["x"] + grip["width"] / 2 == pytest.approx(where["x"] + where["width"] / 2, abs=4)
    page.mouse.move(grip["x"] + 14, grip["y"] + 22)
    page.mouse.down()
    page.mouse.move(grip["x"] + 14 + where["width"] / 4, grip["y"] + 22, steps=4)
    page.mouse.up()
    assert float(page.get_by_label("How far the earlier version is wiped away").input_value()) == pytest.approx(
        75, abs=2
    )
    assert page.problems == []


def test_changed_places_are_stepped_through_with_their_words(compared):
    page = compared.sit_down(compared.cast.agent)
    places = Comparison.objects.get().result["changes"]
    moved = [at for at, change in enumerate(places) if change["label"] == "moved"]
    assert len(moved) == 1
    rail(page)
    page.locator("[data-board]").focus()
    for _ in range(moved[0] + 1):
        page.keyboard.press("n")
    letter = "ABCDEFGH"[moved[0]]
    assert f"{letter}: Moved 20 mm to the right" in page.locator("[data-place-words]").inner_text()
    card = page.locator(f".changed-places li:has([data-show-place$='-{letter}'])")
    assert "chosen" in card.get_attribute("class")
    assert card.locator("svg image").count() == 2
    now = page.locator(".place-line.now.chosen")
    seen, where = now.bounding_box(), art(page)
    middle = seen["x"] + seen["width"] / 2
    assert middle == pytest.approx(where["x"] + where["width"] * OWL_AFTER[0] / SIZE[0], abs=0.015 * where["width"])
    page.get_by_role("button", name="Outlines of what changed").click()
    assert page.locator("[data-board] .place-line").count() == 0


def test_the_count_is_left_to_the_rail_by_its_code_and_not_by_its_words(compared):
    kept = "Kept from before, heaviest first."
    restate(remarks=[{"code": "as-told", "words": kept}, {"code": "n-places", "n": 3}])
    page = compared.sit_down(compared.cast.art_director)
    rail(page)
    assert page.locator("[data-tracing-words]").inner_text() == kept
    assert "3 places to look at, heaviest first." in page.locator("[data-changes]").inner_text()
    assert page.problems == []


def test_notes_of_the_letter_stand_where_their_subjects_are(compared):
    page = compared.sit_down(compared.cast.illustrator)
    rail(page)
    owl = CarriedNote.objects.get(note__words__startswith="Move the owl")
    flag = page.locator(f"[data-carried-pin='{owl.note_id}']")
    assert flag.get_attribute("aria-label").startswith(f"Note 1.{owl.note.number}, ")
    assert f"1.{owl.note.number} is note {owl.note.number} of letter 1." in page.locator("#carried + p").inner_text()
    assert "It moved to here." in flag.get_attribute("aria-label")
    assert flag.locator(".tag").inner_text().replace("\n", "").startswith(f"1.{owl.note.number}")
    cross, where = flag.locator(".cross").bounding_box(), art(page)
    wanted = where["x"] + where["width"] * (655 + 60) / SIZE[0]
    assert cross["x"] + cross["width"] / 2 == pytest.approx(wanted, abs=0.01 * where["width"])
    assert page.locator(".by-page").count() == 0
    flag.focus()
    page.keyboard.press("Enter")
    assert page.locator(".mark.by-page").count() == 1
    assert "It moved to here. A change was found here." in page.locator("[data-said]").inner_text()
    assert page.locator(".pin.carried").count() == 2
    assert page.problems == []


def test_a_carried_note_is_placed_by_hand_with_keys_and_by_one_press(compared):
    page = compared.sit_down(compared.cast.illustrator)
    rail(page)
    stone = CarriedNote.objects.get(note__words__startswith="Is this stone")
    page.get_by_role("button", name=f"Show where it is now (note 1.{stone.note.number})").click()
    width = art(page)["width"]
    for key in ["ArrowLeft"] * 5 + ["Enter"]:
        page.keyboard.press(key)
    page.get_by_text("is shown there from now on").wait_for()
    stone.refresh_from_db()
    assert stone.corrected["kind"] == "box"
    by_keys = stone.corrected["points"]
    assert by_keys[0][0] == pytest.approx(stone.region["points"][0][0] - 5 * 12 / width, abs=0.003)
    assert by_keys[1][1] == pytest.approx(stone.region["points"][1][1], abs=0.003)

    page.get_by_role("button", name=f"Show where it is now (note 1.{stone.note.number})").click()
    where = art(page)
    page.mouse.click(where["x"] + 0.5 * where["width"], where["y"] + 0.5 * where["height"])
    until(page, lambda: CarriedNote.objects.get(pk=stone.pk).corrected["points"] != by_keys)
    (x0, y0), (x1, y1) = CarriedNote.objects.get(pk=stone.pk).corrected["points"]
    assert ((x0 + x1) / 2, (y0 + y1) / 2) == (pytest.approx(0.5, abs=0.005), pytest.approx(0.5, abs=0.005))
    page.get_by_text("Its place here was shown by hand.").wait_for()
    assert page.problems == []


def test_done_without_a_change_is_brought_to_the_art_directors_eye_only(compared):
    stone = CarriedNote.objects.get(verdict="untouched")
    notes.answer_note(stone.note_id, response="done", actor=compared.cast.illustrator)
    page = compared.sit_down(compared.cast.art_director)
    rail(page).get_by_role("button", name="Have a look").click()
    assert page.locator(".pin.carried.chosen").get_attribute("data-carried-pin") == str(stone.note_id)
    theirs = compared.sit_down(compared.cast.illustrator)
    rail(theirs)
    assert theirs.locator(".has-a-look").count() == 0


def test_what_cannot_be_laid_over_is_laid_beside_and_said_so(compared):
    sentence = "The two pictures could not be laid on each other with any certainty, so they are shown side by side."
    restate(state="not-aligned", maps=[], changes=[], remarks=[{"code": "not-aligned"}])
    page = compared.sit_down(compared.cast.art_director)
    lay = rail(page).get_by_role("button", name="Show hand-in 1 beside this")
    assert sentence in page.locator("[data-tracing-words]").inner_text()
    until(page, lambda: page.locator(".tracing-sheet").count() == 1)
    sheet, new, board = box_of(page, ".tracing-sheet"), art(page), box_of(page, "[data-board]")
    assert sheet["y"] + sheet["height"] <= new["y"] or sheet["x"] + sheet["width"] <= new["x"]
    assert sheet["width"] == pytest.approx(new["width"], abs=2)
    assert sheet["y"] >= board["y"]
    assert new["y"] + new["height"] <= board["y"] + board["height"]
    assert page.get_by_label("Opacity of the earlier version").is_hidden()
    lay.click()
    assert page.locator(".tracing-sheet").count() == 0
    until(page, lambda: art(page)["width"] > new["width"] * 1.1)


def test_what_only_one_version_shows_is_hatched_where_it_lies(compared):
    shifted = {
        "a": 1.0,
        "b": 0.0,
        "c": -0.2,
        "d": 0.0,
        "e": 1.0,
        "f": 0.0,
    }  # the new one shows a fifth more to the right
    told = {"area": 20, "lines": 10, "left": 20, "top": 0, "right": 0, "bottom": 0}
    codes = ("no-longer-shown", "newly-shown")
    restate(maps=[shifted], changes=[], remarks=[{"code": code} | told for code in codes])
    page = compared.sit_down(compared.cast.art_director)
    rail(page)
    parts = page.locator("[data-board] .unshared-part")
    until(page, lambda: parts.count() == 2)
    names = page.locator("[data-board] .unshared-name")
    assert names.all_inner_texts() == ["No longer shown", "Newly shown"]
    before, now = (name.bounding_box() for name in names.all())
    where = art(page)
    assert now["x"] == pytest.approx(where["x"] + 0.9 * where["width"], abs=3)
    assert before["x"] == pytest.approx(where["x"] - 0.1 * where["width"], abs=3)
    page.get_by_role("button", name="Overlay hand-in 1").click()
    board = box_of(page, "[data-board]")
    until(page, lambda: parts.first.bounding_box()["x"] >= board["x"])
    page.get_by_role("button", name="Outlines of what changed").click()
    assert parts.count() == 0
    assert page.problems == []


def test_nothing_is_hatched_where_no_remark_tells_of_it(compared):
    page = compared.sit_down(compared.cast.art_director)
    rail(page)
    page.locator("[data-board] .place-line").first.wait_for(state="attached")
    assert page.locator("[data-board] .unshared-part").count() == 0


def test_two_readings_are_a_choice_of_two(compared):
    first = Comparison.objects.get().result["maps"][0]
    restate(state="two-readings", maps=[first, first | {"c": first["c"] + 0.1}])
    page = compared.sit_down(compared.cast.editor)
    rail(page).get_by_role("button", name="Overlay hand-in 1").click()
    before = box_of(page, ".tracing-sheet")
    page.get_by_role("button", name="The other", exact=True).click()
    until(page, lambda: box_of(page, ".tracing-sheet")["x"] > before["x"] + 0.09 * before["width"])
    page.get_by_role("button", name="One reading", exact=True).click()
    until(page, lambda: lies_on(page, before))


def test_each_reading_has_its_own_outlines_and_its_own_cards(compared):
    result = Comparison.objects.get().result
    first, change = result["maps"][0], result["changes"][0]
    elsewhere = {"x0": 0.1, "y0": 0.1, "x1": 0.2, "y1": 0.2}
    other = change | {"label": "removed", "old": elsewhere, "new": None, "on_b": elsewhere, "vector_mm": None}
    owl = CarriedNote.objects.get(state="followed")
    seen = {"region": owl.by_page, "by_page": owl.by_page, "state": "here", "verdict": "untouched", "score": 0.1}
    restate(state="two-readings", maps=[first, first | {"c": first["c"] + 0.3}], other_changes=[other],
           other_notes={str(owl.note_id): seen})  # fmt: skip
    page = compared.sit_down(compared.cast.art_director)
    rail(page)
    count = len(result["changes"])
    assert page.locator("[data-board] .place-tag").count() == count
    flag = page.locator(f"[data-carried-pin='{owl.note_id}']")
    assert "It moved to here" in flag.get_attribute("aria-label")
    page.get_by_role("button", name="The other", exact=True).click()
    assert flag.get_attribute("aria-label").endswith("No change was found here.")
    assert page.locator("[data-board] .place-tag").inner_text() == "a"
    outline, where = page.locator("[data-board] .place-line.was").bounding_box(), art(page)
    carried = where["x"] + where["width"] * (first["a"] * 0.1 + first["b"] * 0.1 + first["c"] + 0.3)
    assert outline["x"] == pytest.approx(carried, abs=4)
    assert "1 changed place" in page.locator("[data-place-words]").inner_text()
    assert page.locator(".tracing-sheet").count() == 0
    page.locator(".changed-places [data-show-place$='-A']").click()
    assert page.locator("[data-board] .place-tag").count() == count
    assert page.get_by_role("button", name="One reading", exact=True).get_attribute("aria-pressed") == "true"
    page.locator(".changed-places [data-show-place$='-a']").click()
    assert page.locator("[data-board] .place-tag.chosen").inner_text() == "a"
    assert page.problems == []


def test_a_note_placed_by_hand_is_put_back_where_it_was_found(compared):
    page = compared.sit_down(compared.cast.illustrator)
    rail(page)
    stone = CarriedNote.objects.get(note__words__startswith="Is this stone")
    assert page.get_by_role("button", name="Put it back where it was found").count() == 0
    page.get_by_role("button", name=f"Show where it is now (note 1.{stone.note.number})").click()
    for key in ["ArrowLeft"] * 9 + ["Enter"]:
        page.keyboard.press(key)
    page.get_by_text("is shown there from now on").wait_for()
    moved = page.locator(f"[data-carried-pin='{stone.note_id}'] .cross").bounding_box()
    page.get_by_role("button", name=f"Put it back where it was found (note 1.{stone.note.number})").click()
    page.get_by_text("is back where it was found").wait_for()
    stone.refresh_from_db()
    assert stone.corrected is None and stone.corrected_by is None
    back = page.locator(f"[data-carried-pin='{stone.note_id}'] .cross").bounding_box()
    assert back["x"] > moved["x"] + 60
    assert page.get_by_role("button", name="Put it back where it was found").count() == 0
    assert page.problems == []


def test_how_often_the_evidence_is_wrong_stands_beside_it(compared):
    page = compared.sit_down(compared.cast.illustrator)
    rail(page)
    page.get_by_text("How far to trust the signs").click()
    rates = touch_bounds("drawn").coded()
    assert Comparison.objects.get().result["rates"] == rates
    assert page.get_by_text(remark_sentence(rates)).is_visible()


@pytest.mark.parametrize("width", [820, 390])
def test_on_a_narrow_screen_no_dead_control_stands_above_the_art(compared, width):
    page = compared.sit_down(compared.cast.art_director, viewport={"width": width, "height": 900})
    lay = rail(page).get_by_role("button", name="Overlay hand-in 1")
    assert page.locator("[data-tracing] :is(button, input, select):disabled").locator("visible=true").count() == 0
    assert box_of(page, "[data-tracing]")["height"] < (60 if width == 820 else 100)
    lay.click()
    assert page.get_by_label("Opacity of the earlier version").is_visible()
    assert page.problems == []


def test_what_changed_is_read_without_javascript(compared):
    page = compared.sit_down(compared.cast.art_director, java_script_enabled=False)
    page.get_by_role("link", name="What changed up to this hand-in").click()
    assert page.get_by_role("heading", name="Changed since hand-in 1").is_visible()
    assert page.get_by_text("Moved 20 mm to the right").is_visible()
    assert page.locator(".changed-places svg").first.bounding_box()["height"] > 60
    assert page.get_by_text("It moved to here. A change was found here.").is_visible()


def test_the_table_with_changes_has_no_known_barrier(compared):
    from axe_playwright_python.sync_playwright import Axe

    stone = CarriedNote.objects.get(verdict="untouched")
    notes.answer_note(stone.note_id, response="done", actor=compared.cast.illustrator)
    for width in (1440, 390):
        page = compared.sit_down(compared.cast.art_director, viewport={"width": width, "height": 900})
        rail(page).get_by_role("button", name="Overlay hand-in 1").click()
        page.get_by_role("button", name="Next place").click()
        found = Axe().run(page)
        assert [(one["id"], one["nodes"][0]["target"]) for one in found.response["violations"]] == []
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        assert page.problems == []
