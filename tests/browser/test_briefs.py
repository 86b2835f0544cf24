"""A brief in the browser: lying beside the picture, and the line that a note must name."""

from types import SimpleNamespace
from typing import Any

import pytest

from reviews.models import Note
from tests.briefs import written
from tests.browser.test_review_table import on_art, table, wait_for_tiles
from tests.cast import gather
from tests.makers import a_book

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
__all__ = ["table"]


def point_at(page: Any, x: float, y: float) -> None:
    wait_for_tiles(page)
    page.get_by_role("button", name="Point").click()
    page.mouse.click(*on_art(page, x, y))
    page.get_by_label("What do you ask for here?").fill("Both arms, please.")


@pytest.fixture
def briefed(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> SimpleNamespace:
    """The same table, with a brief written before the picture was handed in."""
    cast = gather(a_book())
    written(cast, cast.passage("Pages 4–5", "ideas"))
    monkeypatch.setattr("tests.browser.test_review_table.gather", lambda new: cast)
    return request.getfixturevalue("table")


def test_a_missed_brief_asks_for_its_line_and_keeps_it_through_a_change(briefed):
    page = briefed.sit_down(briefed.cast.editor)
    point_at(page, 0.5, 0.5)
    lines = page.locator("[data-note-form]").get_by_label("Which line of the brief")
    assert not lines.is_visible(), "no line is asked for before the brief is named"
    page.check("[name=cause][value=brief]")
    assert lines.is_visible()
    page.get_by_role("button", name="Write it in the letter").click()
    assert not Note.objects.exists(), "without its line the note is not written"
    lines.select_option(index=2)
    page.get_by_role("button", name="Write it in the letter").click()
    page.locator("[data-note-form]").wait_for(state="hidden")
    note = Note.objects.get()
    assert (note.cause, note.brief_line) == ("brief", 2)
    card = page.locator(f"[data-note='{note.pk}']")
    assert "line 2 of version 1: The moon lies whole on the water." in card.inner_text()
    card.get_by_role("button", name="Change").click()
    assert lines.is_visible()
    assert lines.input_value() == f"{note.brief_id}:2"
    assert page.problems == []


def test_without_a_brief_the_form_says_why_it_cannot_be_chosen(table):
    page = table.sit_down(table.cast.editor)
    point_at(page, 0.5, 0.5)
    assert page.locator("[name=cause][value=brief]").count() == 0
    assert page.get_by_text("there was no brief here when this was handed in").is_visible()


@pytest.mark.parametrize("width", [1440, 820, 390])
def test_the_illustrator_reads_the_brief_beside_the_picture(briefed, width):
    page = briefed.sit_down(briefed.cast.illustrator, viewport={"width": width, "height": 900})
    page.get_by_text("The brief", exact=True).click()
    assert page.get_by_text("She carries the pail in both arms.").is_visible()
    across = page.evaluate("document.documentElement.scrollWidth")
    assert across <= width
