"""Two tabs, or two people, at one note: whoever comes second is told and shown both before anything is overwritten."""

from typing import Any

import pytest

from reviews.actions import letters, notes
from reviews.models import Letter, Note
from tests.cast import gather
from tests.letter_scene import pinned
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def scene():
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    handed_in(passage, cast.illustrator, [0])
    cast.note = pinned(passage, cast.editor, "Longer.")
    cast.table = f"/passages/{passage.pk}/"
    return cast


def test_the_second_tab_at_ones_own_note_is_shown_both(visit: Any, scene: Any):
    page = visit(scene.editor.person, scene.table, has_pictures=False)
    page.locator("[data-edit-note]").first.click()
    page.locator("#note-words").fill("Much longer.")
    notes.edit_note(scene.note.pk, words="A bit longer.", cause="direction", actor=scene.editor)
    page.locator("[data-send-words]").click()
    page.locator("[data-wrong]", has_text="It says now: “A bit longer.”").wait_for()
    assert page.locator("#note-words").input_value() == "Much longer."
    assert Note.objects.get().words == "A bit longer."
    page.locator("[data-send-words]").click()  # both were read: now it is meant
    page.locator("[data-note-form]").wait_for(state="hidden")
    assert Note.objects.get().words == "Much longer."


def test_the_second_tab_may_take_what_the_first_wrote(visit: Any, scene: Any):
    page = visit(scene.editor.person, scene.table, has_pictures=False)
    page.locator("[data-edit-note]").first.click()
    page.locator("#note-words").fill("Much longer.")
    notes.edit_note(scene.note.pk, words="A bit longer.", cause="direction", actor=scene.editor)
    page.locator("[data-send-words]").click()
    page.get_by_role("button", name="Take what it says now").click()
    assert page.locator("#note-words").input_value() == "A bit longer."


def test_rewording_in_the_letter_does_not_write_over_what_changed_unseen(visit: Any, scene: Any):
    page = visit(scene.art_director.person, f"/books/{scene.book.pk}/letter/", has_pictures=False)
    letters.weigh_note(scene.note.pk, weighing="through", letter_words="A bit longer.", actor=scene.art_director)
    field = page.locator("textarea[name=letter_words]")
    field.fill("Much longer.")
    page.keyboard.press("Tab")
    page.locator(".typed-back", has_text="It says now: “A bit longer.”").wait_for()
    assert field.input_value() == "Much longer."
    assert Note.objects.get().letter_words == "A bit longer."
    page.get_by_role("button", name="Save these words").click()
    page.get_by_text("The note is in the letter with these words.").wait_for()
    assert Note.objects.get().letter_words == "Much longer."


def test_opening_lines_of_another_tab_are_not_written_over_unseen(visit: Any, scene: Any):
    page = visit(scene.art_director.person, f"/books/{scene.book.pk}/letter/", has_pictures=False)
    letters.word_letter(scene.book.pk, "Dear Juniper,", actor=scene.art_director)
    page.locator("#letter-words").fill("Hello,")
    page.keyboard.press("Tab")
    page.locator(".typed-back", has_text="It says now: “Dear Juniper,”").wait_for()
    assert Letter.objects.get().words == "Dear Juniper,"
    assert page.locator("#letter-words").input_value() == "Hello,"


def test_without_scripts_both_are_read_in_the_refusal(visit: Any, scene: Any):
    page = visit(
        scene.art_director.person, f"/books/{scene.book.pk}/letter/", has_pictures=False, java_script_enabled=False
    )
    letters.word_letter(scene.book.pk, "Dear Juniper,", actor=scene.art_director)
    page.locator("#letter-words").fill("Hello,")
    page.get_by_role("button", name="Save", exact=True).click()
    assert "They say now: “Dear Juniper,”" in page.get_by_role("alert").inner_text()
    assert page.get_by_label("What you typed").input_value() == "Hello,", "nothing typed is lost"
    assert Letter.objects.get().words == "Dear Juniper,"
    letters.word_letter(scene.book.pk, "Dear both,", actor=scene.art_director)
    page.get_by_role("button", name="Save what I typed").click()
    assert "They say now: “Dear both,”" in page.get_by_role("alert").inner_text(), (
        "a third one is not written over either"
    )
    page.get_by_role("button", name="Save what I typed").click()
    assert page.locator("#letter-words").input_value() == "Hello,"
    assert Letter.objects.get().words == "Hello,"


def test_without_scripts_a_reworded_note_is_not_lost_to_another_tab(visit: Any, scene: Any):
    page = visit(
        scene.art_director.person, f"/books/{scene.book.pk}/letter/", has_pictures=False, java_script_enabled=False
    )
    letters.weigh_note(scene.note.pk, weighing="through", letter_words="A bit longer.", actor=scene.art_director)
    page.locator("textarea[name=letter_words]").fill("Much longer.")
    page.get_by_role("button", name="Leave it out").click()
    assert page.locator(".opening", has_text="A bit longer.").is_visible()
    assert page.get_by_label("What you typed").input_value() == "Much longer."
    page.get_by_role("button", name="Save what I typed").click()
    note = Note.objects.get()
    assert (note.letter_words, note.weighing) == ("Much longer.", "held"), "what was pressed is done with these words"
    assert page.get_by_role("heading", name="The letter being written").is_visible()


def test_without_scripts_what_stands_now_may_be_kept(visit: Any, scene: Any):
    page = visit(
        scene.art_director.person, f"/books/{scene.book.pk}/letter/", has_pictures=False, java_script_enabled=False
    )
    letters.word_letter(scene.book.pk, "Dear Juniper,", actor=scene.art_director)
    page.locator("#letter-words").fill("Hello,")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_role("link", name="Keep what it says now").click()
    assert page.locator("#letter-words").input_value() == "Dear Juniper,"
