"""Beside the cover note stands what the publisher would see; one press says so there, and nothing blocks."""

from __future__ import annotations

import os
from typing import Any

import pytest
from django.urls import reverse

from reviews.actions import letters, notes
from reviews.models import HandIn, Letter, Note
from reviews.queries.letters import letter_fingerprint
from tests.cast import gather
from tests.makers import a_book
from tests.tasks.test_comparisons import OWL, OWL_AFTER, SIZE, a_drawing, deliver, do_all
from tests.tasks.test_draft_check import OWL_NOTE, STONE_NOTE, with_a_moth

pytestmark = [
    pytest.mark.browser, pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("comparisons_made_once")
]  # fmt: skip
SHOTS = os.environ.get("DRAFT_SHOTS")  # a folder: keep the pages that were looked at


@pytest.fixture
def asked() -> Any:
    cast = gather(a_book())
    passage = cast.passage("Pages 4–5", "ideas")
    first = deliver(cast, passage, a_drawing(OWL)).pictures.get()
    for words, (x0, y0, x1, y1) in ((OWL_NOTE, (655, 230, 745, 370)), (STONE_NOTE, (1180, 480, 1420, 700))):
        region = {"kind": "box", "points": [[x0 / SIZE[0], y0 / SIZE[1]], [x1 / SIZE[0], y1 / SIZE[1]]]}
        notes.pin_note(passage.pk, first.pk, region=region, words=words, cause="direction", actor=cast.editor)
    letters.set_answer(passage.pk, answer="ask", actor=cast.art_director)
    draft = Letter.objects.get(sent_at=None)
    letters.send_letter(draft.pk, looked_at=letter_fingerprint(draft), actor=cast.art_director)
    for note in Note.objects.all():
        notes.answer_note(note.pk, response="done", actor=cast.illustrator)
    return cast, passage


def test_the_draft_tells_what_they_would_see_and_takes_it_into_the_cover_note(asked: Any, visit: Any) -> None:
    cast, passage = asked
    page = visit(cast.illustrator.person, reverse("reviews:draft-hand-in", args=[passage.pk]))
    file = {"name": "owl.jpg", "mimeType": "image/jpeg", "buffer": with_a_moth(a_drawing(OWL_AFTER))}
    page.set_input_files("[data-choose]", file)
    page.locator("[data-pictures] > li[data-picture]").wait_for()
    do_all("renditions")
    page.get_by_text("is being compared").wait_for()
    hand_in = page.get_by_role("button", name="Hand in number 2")
    assert hand_in.is_enabled(), "nothing waits for the comparison"
    page.fill("#cover-note", "The owl is moved.")
    do_all("compare")
    page.get_by_text("says done, and no change was found there").wait_for()
    page.get_by_role("button", name="Add A to the cover note").click()
    note = page.input_value("#cover-note")
    assert note.startswith("The owl is moved.\nAlso changed since hand-in 1:")
    assert page.evaluate("document.activeElement.id") == "cover-note"
    page.get_by_role("button", name="Add A to the cover note").click()
    assert page.input_value("#cover-note") == note, "said once"
    for width in (1440, 820, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width, width
        if SHOTS:
            page.screenshot(path=f"{SHOTS}/draft-check-{width}.png", full_page=True)
    hand_in.click()
    page.get_by_role("button", name="Hand it in").click()
    page.get_by_text("Handed in: number 2").wait_for()
    assert HandIn.objects.get(number=2).cover_note.splitlines() == note.splitlines()
    director = visit(cast.art_director.person, reverse("reviews:passage", args=[passage.pk]))
    assert director.locator(".letter-side > .cover-note p").inner_text() == note
    assert page.problems == director.problems == []


def test_without_scripts_the_page_is_a_link_away(asked: Any, visit: Any) -> None:
    cast, passage = asked
    page = visit(cast.illustrator.person, reverse("reviews:check-draft", args=[passage.pk]), java_script_enabled=False)
    page.get_by_text(OWL_NOTE).wait_for()
    assert page.get_by_text("Put a picture into the draft first").count() == 1
