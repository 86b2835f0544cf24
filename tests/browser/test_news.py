"""Two people at one table: what one writes comes to the other without a reload, and moves nothing under their hand."""

from __future__ import annotations

import re
from typing import Any

import pytest

from reviews.actions import notes
from reviews.models import Note
from tests.cast import gather
from tests.letter_scene import BOX, answered, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

TOP = "it => it.getBoundingClientRect().top"


@pytest.fixture
def scene() -> Any:
    cast = gather(a_book())
    cast.ideas = cast.passage("Pages 4–5", "ideas")
    handed_in(cast.ideas, cast.illustrator, [0])
    cast.table = f"/passages/{cast.ideas.pk}/"
    return cast


def begin_note(page: Any, words: str) -> Any:
    page.get_by_role("button", name="Point").click()
    page.keyboard.press("Enter")
    page.check("[name=cause][value=direction]")
    page.locator("#note-words").fill(words)
    return page.locator("#note-words")


def ask_now(page: Any) -> None:
    """Let the page ask at once, as it does when it is looked at again."""
    with page.expect_response(re.compile("/news/")):
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")


def test_a_note_comes_onto_the_art_and_into_the_letter_while_another_types_below_it(visit: Any, scene: Any):
    for n in range(3):
        pinned(scene.ideas, scene.art_director, f"Standing {n}. " + "Words that make it long. " * 6)
    mine = visit(scene.editor.person, scene.table, has_pictures=False)
    hers = visit(scene.art_director.person, scene.table, has_pictures=False)
    field = begin_note(mine, "Let the heron")
    field.press("End")
    before = field.evaluate(TOP)
    view = mine.locator("[data-board] .leaflet-map-pane").get_attribute("style")
    # The art director writes; the editor's page hears of it by itself.
    begin_note(hers, "A taller reed.")
    hers.get_by_role("button", name="Write it in the letter").click()
    hers.locator("[data-note-form]").wait_for(state="hidden")
    note = Note.objects.get(words="A taller reed.")
    mine.locator(f"[data-note='{note.pk}'] .words", has_text="A taller reed.").wait_for()
    mine.locator(f"[data-pin='{note.pk}']").wait_for()
    mine.keyboard.type(" stand in the reeds.")
    assert field.input_value() == "Let the heron stand in the reeds.", "the typing went on where it was"
    assert abs(field.evaluate(TOP) - before) <= 1, "and the field stayed where the eye was"
    assert mine.locator("[data-board] .leaflet-map-pane").get_attribute("style") == view
    slip = mine.locator(".news-line")
    assert slip.inner_text().startswith("A new note by Corvin Mallowe.")
    mine.get_by_role("button", name="Show it").click()
    assert mine.locator(f"[data-note='{note.pk}'].chosen").count() == 1
    assert field.input_value() == "Let the heron stand in the reeds."
    assert mine.locator(".looks-too").inner_text() == "Corvin Mallowe is looking at this too."
    mine.get_by_role("button", name="Write it in the letter").click()
    mine.locator("[data-note-form]").wait_for(state="hidden")
    assert mine.problems == hers.problems == []


def test_what_one_is_about_to_press_stays_under_the_hand_and_a_reply_begun_stays_begun(visit: Any, scene: Any):
    first, second = (pinned(scene.ideas, scene.art_director, words) for words in ("First.", "Second."))
    page = visit(scene.editor.person, scene.table, has_pictures=False)
    ask_now(page)
    reply = page.locator(f"[data-note='{second.pk}'] details.reply")
    reply.locator("summary").click()
    reply.locator("textarea").fill("Half a rep")
    button = reply.get_by_role("button", name="Reply")
    button.hover()
    before = button.evaluate(TOP)
    pinned(scene.ideas, scene.art_director, "Third, above them all by its place.", region=BOX)
    notes.edit_note(
        second.pk, words="Second, and longer than it was. " * 6, cause="direction", actor=scene.art_director
    )
    notes.withdraw_note(first.pk, actor=scene.art_director)
    ask_now(page)
    page.get_by_text("This note is no longer here.").wait_for()
    assert "longer than it was" in page.locator(f"[data-note='{second.pk}'] .words").inner_text()
    assert reply.locator("textarea").input_value() == "Half a rep"
    assert abs(button.evaluate(TOP) - before) <= 1
    assert page.locator("[data-pin]").count() == 2
    page.mouse.down()
    page.mouse.up()
    page.locator(f"[data-note='{second.pk}'] .replies", has_text="Half a rep").wait_for()


def test_a_new_version_and_a_letter_are_a_line_with_a_way_and_change_nothing_by_themselves(visit: Any, scene: Any):
    page = visit(scene.editor.person, scene.table, has_pictures=False)
    pinned(scene.ideas, scene.art_director)
    answered(scene, scene.ideas, "ask")
    sent(scene)
    ask_now(page)
    assert "Letter 1, which answers this, was sent at" in page.locator("[data-news='letter']").inner_text()
    handed_in(scene.ideas, scene.illustrator, [3])
    ask_now(page)
    line = page.locator("[data-news='hand-in']")
    line.wait_for()
    assert "A new version was handed in at" in line.inner_text()
    assert page.locator("[data-note]").count() == 1, "what lies on the table is still the first version"
    page.wait_for_timeout(1000)  # it cannot be pressed in the moment in which it appears
    line.get_by_role("link", name="Show it").click()
    page.locator(".one-picture .hand-ins [aria-current]", has_text="2").wait_for()
    assert page.locator(".news-line").count() == 0


def test_a_note_pressed_without_a_network_is_sent_once_it_is_back_and_once_only(visit: Any, scene: Any):
    page = visit(scene.editor.person, scene.table, has_pictures=False)
    begin_note(page, "Let the tarn be wider.")
    page.context.set_offline(True)
    page.get_by_role("button", name="Write it in the letter").click()
    page.get_by_text("Your note is kept on this device, and is sent again by itself.").wait_for()
    assert not Note.objects.exists()
    page.locator("[data-board]").focus()
    page.context.set_offline(False)
    page.locator("[data-note-form]").wait_for(state="hidden")
    assert [note.words for note in Note.objects.all()] == ["Let the tarn be wider."]
    page.get_by_text("is written in the letter. It is not sent yet.").wait_for()
    page.locator("[data-note] .words", has_text="Let the tarn be wider.").wait_for()
    assert page.locator(".chosen").count() == 0, "nobody pressed now, so nothing is brought before their eyes"


def test_a_note_on_its_way_is_not_put_away_for_another_nor_sent_from_another_place(visit: Any, scene: Any):
    standing = pinned(scene.ideas, scene.editor, "Standing.")
    page = visit(scene.editor.person, scene.table, has_pictures=False)
    field = begin_note(page, "Let the tarn be wider.")
    page.route("**/notes/", lambda route: route.abort())
    page.get_by_role("button", name="Write it in the letter").click()
    lost = page.get_by_text("Your note is kept on this device, and is sent again by itself.")
    lost.wait_for()
    page.locator(f"[data-edit-note='{standing.pk}']").click()
    page.get_by_text("The note you wrote is still being sent.").wait_for()
    assert field.input_value() == "Let the tarn be wider." and lost.is_visible()
    # Placed anew it is another note than the one that may have arrived: it waits for its press.
    page.unroute("**/notes/")
    page.get_by_role("button", name="Point").click()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    assert not lost.is_visible()
    page.wait_for_timeout(4500)
    assert [note.words for note in Note.objects.all()] == ["Standing."]
    assert field.input_value() == "Let the tarn be wider."
    page.get_by_role("button", name="Cancel").click()
    page.get_by_text("Cancelled here. If it had arrived all the same, it comes into the letter.").wait_for()
    assert page.get_by_text("Nothing was written.").count() == 0


def test_words_of_a_changed_note_come_back_after_a_second_reload_as_after_the_first(visit: Any, scene: Any):
    note = pinned(scene.ideas, scene.editor, "Standing.")
    page = visit(scene.editor.person, scene.table, has_pictures=False)
    page.locator(f"[data-edit-note='{note.pk}']").click()
    page.locator("#note-words").fill("Standing taller.")
    for _ in range(2):
        page.reload()
        assert page.locator("#note-words").input_value() == "Standing taller."


def test_a_note_that_arrived_though_its_answer_did_not_is_not_written_twice_after_a_reload(visit: Any, scene: Any):
    page = visit(scene.editor.person, scene.table, has_pictures=False)
    begin_note(page, "Let the tarn be wider.")

    def lose(route: Any) -> None:
        route.fetch()
        route.abort()

    page.route("**/notes/", lose, times=1)
    page.get_by_role("button", name="Write it in the letter").click()
    page.get_by_text("Your note is kept on this device").wait_for()
    assert Note.objects.count() == 1
    page.reload()
    assert page.locator("#note-words").input_value() == "Let the tarn be wider."
    page.get_by_role("button", name="Write it in the letter").click()
    page.locator("[data-note-form]").wait_for(state="hidden")
    assert Note.objects.count() == 1, "the same press, before the reload and after it"


def test_a_page_nobody_sees_does_not_ask_and_a_failing_server_is_asked_ever_more_rarely(visit: Any, scene: Any):
    page = visit(scene.editor.person, scene.table, has_pictures=False)
    waits = page.evaluate(
        """async () => {
          const { waitFor } = await import("/static/js/news/asking.js");
          const after = (failures) => waitFor({ every: 5000, failures, isUntouched: false });
          return [0, 1, 2, 3, 9].map(after).concat(waitFor({ every: 5000, failures: 0, isUntouched: true }));
        }"""
    )
    assert waits == [5000, 10000, 20000, 40000, 240000, 30000]
    failures = page.evaluate(
        """async () => {
          const { TableNews } = await import("/static/js/table/table-news.js");
          const letter = { turn: 0, reading: null, fetchPage: () => Promise.reject(new Error("The table failed.")) };
          const { asking } = new TableNews({ root: document.createElement("div"), letter }, { onBack() {} });
          asking.address = `${document.querySelector("[data-news]").dataset.news}&since=2001-01-01T00:00:00Z`;
          await asking.ask();
          window.clearTimeout(asking.timer);
          return [asking.failures, asking.tag];
        }"""
    )
    assert failures == [1, ""], "a table that cannot be read counts as no answer, and what came is asked for again"
    asked = []
    page.on("request", lambda request: "/news/" in request.url and asked.append(request.url))
    ask_now(page)
    page.evaluate("Object.defineProperty(document, 'hidden', { value: true, configurable: true })")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    n = len(asked)
    page.wait_for_timeout(6000)
    assert len(asked) == n
    assert page.problems == []


def test_a_seat_that_ended_makes_the_page_ask_no_more_and_say_nothing(visit: Any, scene: Any):
    from reviews.actions.seats import end_seat

    page = visit(scene.editor.person, scene.table, has_pictures=False)
    ask_now(page)
    end_seat(scene.editor.pk, actor=scene.art_director)
    ask_now(page)
    asked = []
    page.on("request", lambda request: "/news/" in request.url and asked.append(request.url))
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    page.wait_for_timeout(500)
    assert asked == [] and page.locator(".news-line").count() == 0


@pytest.mark.parametrize("width", [1440, 820, 390])
def test_the_slip_lies_inside_the_window_and_has_no_barrier(visit: Any, scene: Any, width: int):
    from axe_playwright_python.sync_playwright import Axe

    page = visit(scene.art_director.person, f"/books/{scene.book.pk}/wall/", viewport={"width": width, "height": 844})
    handed_in(scene.passage("Pages 6–7", "ideas"), scene.illustrator, [3])
    ask_now(page)
    line = page.locator(".news-line")
    line.wait_for()
    box = line.bounding_box()
    assert box["x"] >= 0 and box["x"] + box["width"] <= width and box["y"] + box["height"] <= 844
    page.wait_for_timeout(1000)
    small = line.locator(".button").evaluate_all(
        "all => all.filter((one) => one.getBoundingClientRect().height < 24).length"
    )
    assert small == 0
    assert [(one["id"], one["nodes"][0]["target"]) for one in Axe().run(page).response["violations"]] == []
    page.get_by_role("button", name="Not now").click()
    assert line.count() == 0
