"""Writing the letter in a browser: it keeps its place, keeps words as they are left, and works without scripts."""

import re
from typing import Any

import pytest

from reviews.models import Letter, LetterAnswer, Note, OptionMark
from tests.cast import gather
from tests.letter_scene import ELSEWHERE, opened, pinned
from tests.makers import a_book, handed_in
from tests.servers import wait_until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def scene():
    """Two spreads wait; two people marked the same place of the first one."""
    cast = gather(a_book())
    for seed, pages in enumerate(("4–5", "6–7")):
        handed_in(cast.passage(f"Pages {pages}", "ideas"), cast.illustrator, [seed])
    first = cast.passage("Pages 4–5", "ideas")
    pinned(first, cast.editor, "Longer.")
    pinned(first, cast.production, "Shorter.")
    pinned(cast.passage("Pages 6–7", "ideas"), cast.editor, "Lower.", region=ELSEWHERE)
    return cast


@pytest.fixture
def desk(visit: Any, scene):
    """Open the letter being written as the art director."""

    def open_letter(**options: Any) -> Any:
        letter = f"/books/{scene.book.pk}/letter/"
        options = {"viewport": {"width": 1280, "height": 800}, "has_pictures": False} | options
        return visit(scene.art_director.person, letter, **options)

    return open_letter


def spread(page: Any, name: str) -> Any:
    return page.locator("section.waiting", has_text=name)


def test_answers_and_words_are_kept_without_leaving_the_place(desk, scene):
    page = desk()
    page.get_by_label("Opening lines").fill("Dear Juniper,")
    ask = spread(page, "Pages 6–7").get_by_role("button", name="Ask for changes")
    ask.scroll_into_view_if_needed()
    before = ask.bounding_box()["y"]
    ask.click()
    pressed = spread(page, "Pages 6–7").locator("button[value=ask][aria-pressed=true]")
    pressed.wait_for()
    kept = Letter.objects.filter(words="Dear Juniper,")
    wait_until(kept.exists, seconds=10, what="the opening lines to be kept")
    page.get_by_text("The opening lines are saved.").wait_for()  # the page that came back is in place
    assert pressed.bounding_box()["y"] == pytest.approx(before, abs=2)
    assert pressed.evaluate("button => button === document.activeElement")
    assert (len(page.visits), page.problems) == (1, [])
    assert page.get_by_label("Opening lines").input_value() == "Dear Juniper,"
    assert LetterAnswer.objects.get().answer == "ask"


def test_words_are_kept_though_the_answer_to_a_press_comes_back_before_they_are_sent(desk, scene):
    page = desk()
    page.evaluate("const wait = window.setTimeout; window.setTimeout = (deed, ms) => wait(deed, 10 * ms)")
    page.get_by_label("Opening lines").fill("Dear Juniper,")
    lower = spread(page, "Pages 6–7")
    lower.get_by_role("button", name="Ask for changes").click()
    lower.locator("button[value=ask][aria-pressed=true]").wait_for()
    assert not Letter.objects.filter(words="Dear Juniper,").exists(), "else this tests nothing"
    wait_until(Letter.objects.filter(words="Dear Juniper,").exists, seconds=10, what="the opening lines to be kept")
    assert (LetterAnswer.objects.get().answer, page.problems) == ("ask", [])


def test_a_note_is_reworded_by_leaving_its_field(desk, scene):
    page = desk()
    field = spread(page, "Pages 6–7").locator("textarea[name=letter_words]")
    field.fill("Could the moon hang lower?")
    page.keyboard.press("Tab")
    spread(page, "Pages 6–7").get_by_text("Petra Innisfold wrote: “Lower.”").wait_for()
    note = Note.objects.get(words="Lower.")
    assert (note.letter_words, note.weighing) == ("Could the moon hang lower?", "through")


def test_one_press_keeps_the_words_just_typed_and_does_what_it_says(desk, scene):
    page = desk()
    spread(page, "Pages 6–7").locator("textarea[name=letter_words]").fill("Perhaps lower.")
    spread(page, "Pages 6–7").get_by_role("button", name="Leave it out").click()
    spread(page, "Pages 6–7").locator("[data-state=held_back]").wait_for()
    note = Note.objects.get(words="Lower.")
    assert (note.weighing, note.letter_words) == ("held", "Perhaps lower.")


def test_words_left_for_a_decision_between_notes_do_not_undo_it(desk, scene):
    page = desk()
    upper = spread(page, "Pages 4–5")
    upper.locator("textarea[name=letter_words]").nth(1).fill("A little shorter.")
    upper.get_by_role("button", name="Only this one goes").first.click()
    upper.locator("[data-state=held_back]").wait_for()
    reworded = Note.objects.filter(letter_words="A little shorter.")
    wait_until(reworded.exists, seconds=10, what="the words to be kept")
    assert reworded.get().weighing == "held"


def test_words_in_another_field_survive_a_decision(desk, scene):
    page = desk()
    lower = spread(page, "Pages 6–7").locator("textarea[name=letter_words]")
    # Typed by script, so that the field is never left: as if the hand were still on it.
    lower.evaluate("field => { field.value = 'Half a thou'; }")
    spread(page, "Pages 4–5").get_by_role("button", name="Only this one goes").first.click()
    spread(page, "Pages 4–5").locator("[data-state=held_back]").wait_for()
    assert spread(page, "Pages 6–7").locator("textarea[name=letter_words]").input_value() == "Half a thou"
    assert page.locator(".to-decide").count() == 0


def test_a_spread_stays_folded_or_open_as_it_was_left(desk, scene):
    page = desk()
    lower, upper = spread(page, "Pages 6–7"), spread(page, "Pages 4–5")
    assert lower.locator(".fold[open]").count() == 1, "a note without an answer stands open"
    lower.get_by_role("button", name="Ask for changes").click()
    lower.locator("button[value=ask][aria-pressed=true]").wait_for()
    assert lower.locator(".fold[open]").count() == 1, "it does not fold under the hand"
    upper.locator("summary").first.focus()
    page.keyboard.press("Enter")
    assert upper.get_by_text("Decide, or both go.").is_hidden()
    lower.get_by_role("button", name="Leave it out").click()
    lower.locator("[data-state=held_back]").wait_for()
    assert upper.locator(".fold[open]").count() == 0
    assert page.problems == []


def test_asking_for_changes_opens_the_folded_spread(desk, scene):
    handed_in(scene.passage("Pages 8–9", "ideas"), scene.illustrator, [5])
    page = desk()
    folded = spread(page, "Pages 8–9")
    folded.get_by_role("button", name="Ask for changes").click()
    folded.locator(".fold[open]").wait_for()
    assert page.problems == []


def test_approving_all_asks_with_the_names_first(desk, scene):
    handed_in(scene.passage("Pages 8–9", "ideas"), scene.illustrator, [5])
    opened(scene, scene.passage("Pages 8–9", "ideas"))
    page = desk()
    page.get_by_role("button", name="Approve it in this letter").click()
    page.get_by_text("Approve Pages 8–9, ideas in this letter? Nothing is sent yet.").wait_for()
    assert not LetterAnswer.objects.exists()
    page.get_by_role("button", name="Approve it", exact=True).click()
    spread(page, "Pages 8–9").locator("button[value=approve][aria-pressed=true]").wait_for()
    assert LetterAnswer.objects.count() == 1


def test_a_way_to_a_folded_spread_opens_it(desk, scene):
    handed_in(scene.passage("Pages 8–9", "ideas"), scene.illustrator, [5])
    page = desk()
    folded = spread(page, "Pages 8–9")
    assert folded.locator(".fold[open]").count() == 0
    assert folded.get_by_role("button", name="Approve", exact=True).is_visible()
    page.get_by_role("navigation", name="Spreads of this letter").get_by_role("link", name="Pages 8–9").click()
    folded.get_by_text("Nobody has marked anything here.").wait_for()
    assert folded.locator(".fold[open]").count() == 1


def test_the_way_past_the_head_opens_no_spread(desk, scene):
    page = desk()
    upper = spread(page, "Pages 4–5")
    upper.locator("summary").first.focus()
    page.keyboard.press("Enter")
    page.get_by_role("link", name="Skip to the page").press("Enter")
    page.wait_for_url("**#main")
    assert upper.locator(".fold[open]").count() == 0


def test_the_letter_is_written_and_sent_without_scripts(desk, scene):
    page = desk(java_script_enabled=False)
    spread(page, "Pages 6–7").get_by_role("button", name="Ask for changes").click()
    spread(page, "Pages 4–5").get_by_role("button", name="Both go into the letter").click()
    spread(page, "Pages 4–5").get_by_role("button", name="Approve with small notes").click()
    page.get_by_role("link", name="Read it before it goes").click()
    assert re.search(r"/letters/\d+/send/$", page.url)
    page.get_by_role("button", name="Send the letter").click()
    assert page.get_by_role("heading", name="Letter 1").is_visible()
    assert Note.objects.filter(state="sent").count() == 3


def test_another_option_chosen_after_approving_is_what_is_stored(desk, scene):
    several = scene.passage("Pages 8–9", "ideas")
    hand_in = handed_in(several, scene.illustrator, [5, 6])
    page = desk()
    options = spread(page, "Pages 8–9")
    options.locator("[name=picture]").nth(0).check()
    options.get_by_role("button", name="Approve", exact=True).click()
    options.locator("button[value=approve][aria-pressed=true]").wait_for()
    options.locator("[name=picture]").nth(1).check()
    second = hand_in.pictures.get(position=2).pk
    chosen = LetterAnswer.objects.filter(picture=second)
    wait_until(chosen.exists, seconds=10, what="the other option to be stored")


def test_enter_in_the_reason_beside_an_option_votes_for_nothing(visit, scene):
    several = scene.passage("Pages 8–9", "ideas")
    handed_in(several, scene.illustrator, [5, 6])
    page = visit(scene.editor.person, f"/passages/{several.pk}/", has_pictures=False)
    page.locator("[data-all-pictures] [name=why]").first.fill("Too scary")
    page.keyboard.press("Enter")
    page.wait_for_timeout(600)
    assert OptionMark.objects.count() == 0
