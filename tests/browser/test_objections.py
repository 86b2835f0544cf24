"""An objection by the second sign-off is in sight on desk, spread and letter, and is never approved with all."""

from typing import Any
from urllib.parse import urlsplit

import pytest

from reviews.actions.second_voice import agree, object_to
from reviews.models import LetterAnswer
from tests.cast import gather
from tests.letter_scene import approved, opened, pinned
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WHY = "HOME points away from where she walks."


@pytest.fixture
def scene():
    """Three sketches of one day were opened and nothing is noted on them; the editor objects to the second."""
    cast = gather(a_book())
    cast.sketches = []
    for seed, pages in enumerate(("4–5", "6–7", "8–9")):
        approved(cast, cast.passage(f"Pages {pages}", "ideas"), seed)
        sketch = cast.passage(f"Pages {pages}", "sketch")
        handed_in(sketch, cast.illustrator, [10 + seed])
        sketch.refresh_from_db()
        opened(cast, sketch)
        cast.sketches.append(sketch)
    agree(cast.sketches[0].hand_in_id, actor=cast.editor)
    object_to(cast.sketches[1].hand_in_id, WHY, actor=cast.editor)
    return cast


def in_sight(notice: Any) -> bool:
    """Whether it stands out by more than its words: a heavy frame of its own, and a mark."""
    style = "it => [getComputedStyle(it).borderTopWidth, it.querySelectorAll('svg').length]"
    return notice.is_visible() and notice.evaluate(style) == ["2px", 1]


def test_it_is_loud_on_desk_spread_and_letter_and_never_approved_with_all(visit: Any, scene: Any):
    page = visit(scene.art_director.person, "/", has_pictures=False)
    on_desk = page.locator(".objection", has_text=WHY)
    assert in_sight(on_desk)
    asked = page.locator(".ask", has=on_desk).inner_text()
    assert "Pages 6–7" in asked and "Pages 8–9" not in asked, "it says of which spread, among others of the day"
    page.locator(".ask", has=on_desk).locator("h3 a").click()
    page.wait_for_url("**/passages/**")
    assert in_sight(page.locator(".answer-here .objection", has_text=WHY))
    page.get_by_role("link", name="Go to the letter").click()
    page.wait_for_url("**/letter/**")
    assert in_sight(page.locator("section.waiting", has_text="Pages 6–7").locator(".objection", has_text=WHY))
    offered = page.locator(".approve-all")
    assert "Pages 8–9" in offered.inner_text() and "Pages 6–7" not in offered.inner_text()
    page.get_by_role("button", name="Approve them all in this letter").click()
    page.get_by_role("button", name="Approve them", exact=True).click()
    page.locator("button[value=approve][aria-pressed=true]").nth(1).wait_for()
    rows = LetterAnswer.objects.filter(letter__sent_at=None).order_by("passage__spread__position")
    assert list(rows.values_list("passage__spread__label", flat=True)) == ["Pages 4–5", "Pages 8–9"]
    assert page.problems == []


def test_approved_over_it_the_letter_says_so_first_and_the_other_side_reads_nothing_of_it(visit: Any, scene: Any):
    page = visit(scene.art_director.person, f"/books/{scene.book.pk}/letter/", has_pictures=False)
    section = page.locator("section.waiting", has_text="Pages 6–7")
    section.get_by_role("button", name="Approve", exact=True).click()
    section.locator("button[value=approve][aria-pressed=true]").wait_for()
    page.goto(page.url.partition("/books/")[0] + "/")
    assert "the editor does not agree to Pages 6–7" in page.locator("main").inner_text()
    page.go_back()
    page.get_by_role("link", name="Read it before it goes").click()
    page.wait_for_url("**/send/")
    assert "1 with an objection by the editor" in page.locator("main").inner_text()
    assert page.locator(".consequence .objection", has_text=WHY).is_visible()
    page.get_by_role("button", name="Send the letter").click()
    page.get_by_text("The letter is sent.").wait_for()
    juniper = visit(scene.illustrator.person, urlsplit(page.url).path, has_pictures=False)
    assert "Pages 6–7, sketch" in juniper.locator("main").inner_text()
    assert WHY not in juniper.content()


def test_a_note_in_the_house_says_nothing_of_an_objection_that_is_not_there(visit: Any, scene: Any):
    pinned(scene.sketches[2], scene.editor, "Lower.")
    page = visit(scene.art_director.person, "/", has_pictures=False)
    assert page.locator(".objection").count() == 1
