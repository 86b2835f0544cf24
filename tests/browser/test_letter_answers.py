"""The illustrator answers the notes of a letter by one press each, whether its scripts have come or not."""

from typing import Any

import pytest

from reviews.models import Note
from tests.cast import gather
from tests.letter_scene import ELSEWHERE, answered, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


@pytest.fixture
def scene():
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator, [0])
    pinned(passage, cast.editor, "Longer.")
    pinned(passage, cast.editor, "Lower.", region=ELSEWHERE)
    answered(cast, passage, "ask")
    cast.letter = sent(cast)
    return cast


def responses() -> list[str]:
    return list(Note.objects.order_by("number").values_list("response", flat=True))


def test_a_tap_saves_before_the_scripts_of_the_page_have_come(visit: Any, scene: Any, live_server: Any):
    page = visit(scene.illustrator.person, "/", has_pictures=False, **PHONE)
    page.route("**/*.js", lambda route: None)  # asked for, and never there
    page.goto(f"{live_server.url}/letters/{scene.letter.pk}/", wait_until="commit")
    first = page.locator(".sent-note").first
    with page.expect_navigation(wait_until="commit"):
        first.get_by_role("button", name="Done", exact=True).tap()
    page.locator(".sent-note[data-answered]").first.wait_for()
    assert responses() == ["done", ""]


def test_without_scripts_what_needs_words_says_so_and_keeps_what_was_pressed(visit: Any, scene: Any):
    page = visit(
        scene.illustrator.person, f"/letters/{scene.letter.pk}/", has_pictures=False, java_script_enabled=False
    )
    second = page.locator(".sent-note").nth(1)
    second.get_by_role("button", name="Not done, because …").click()
    assert second.get_by_text("This answer needs words").is_visible()
    pressed = second.locator("button[name=response][aria-pressed=true]")
    assert pressed.inner_text().strip() == "Not done, because …"
    second.locator(".respond textarea").fill("It would hide the moon.")
    pressed.click()
    assert responses() == ["", "not_done"]
    assert page.get_by_text("It would hide the moon.").first.is_visible()


def test_with_scripts_a_question_is_saved_as_its_words_are_left(visit: Any, scene: Any):
    page = visit(scene.illustrator.person, f"/letters/{scene.letter.pk}/", has_pictures=False, **PHONE)
    page.wait_for_load_state("load")
    first = page.locator(".sent-note").first
    first.get_by_role("button", name="I have a question").tap()
    page.get_by_text("Say why, or what you ask: it is saved as you leave the field.").wait_for()
    assert first.locator(".respond textarea").evaluate("field => field === document.activeElement")
    page.keyboard.type("Which heron?")
    page.keyboard.press("Tab")
    first.locator(".response", has_text="Which heron?").wait_for()
    assert responses() == ["question", ""]
    assert (len(page.visits), page.problems) == (1, [])
