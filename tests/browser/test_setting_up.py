"""A book set up from nothing by an art director alone, counted press by press, until the first hand-in is asked for."""

from __future__ import annotations

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from reviews.actions.seats import make_person, take_seat
from reviews.models import Invitation, SpreadText
from reviews.queries.text_blocks import texts_of
from reviews.rules.states import Role
from tests.cast import NAMES, PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

MANUSCRIPT = "Tansy\n\nPage 4\nHush, said the tarn.\n\nThe pail hung still.\n\nPage 8\nHome."
#: Seconds a press takes somebody who reads first; our own supposition, so that presses make minutes.
SECONDS_A_PRESS = 15


class Presses:
    """A page on which every press is counted, by mouse or by the Enter key."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.n = 0

    def press(self, name: str, *, role: str = "button", by_key: bool = False) -> None:
        found = self.page.get_by_role(role, name=name).first
        found.focus()
        with self.page.expect_navigation():
            if by_key:
                self.page.keyboard.press("Enter")
            else:
                found.click()
        self.n += 1
        if by_key:
            self.look()

    def look(self) -> None:
        """Look at the screen that came: nothing sticks out at any width, and nobody is shut out of it."""
        for width in (1440, 820, 390):
            self.page.set_viewport_size({"width": width, "height": 900})
            assert self.page.evaluate("document.documentElement.scrollWidth") <= width, (self.page.url, width)
        self.page.set_viewport_size({"width": 1440, "height": 900})
        found = Axe().run(self.page)
        assert found.violations_count == 0, f"{self.page.url}: {found.generate_report()}"


@pytest.mark.parametrize("by_key", [False, True], ids=["mouse", "keys"])
def test_from_an_empty_desk_to_the_first_hand_in_asked_for_in_under_five_minutes(visit: Any, by_key: bool) -> None:
    name = NAMES[Role.ART_DIRECTOR][0]
    corvin = make_person(email=NAMES[Role.ART_DIRECTOR][1], name=name, password=PASSWORD)
    page = visit(corvin, "/", viewport={"width": 1440, "height": 900})
    hand = Presses(page)
    hand.press("Set up a book", role="link", by_key=by_key)
    page.fill("#id_title", "Tansy")
    hand.press("Set up the book", by_key=by_key)
    hand.press("Bring the manuscript", role="link", by_key=by_key)
    page.fill("[name=words]", MANUSCRIPT)
    hand.press("Break it over the pages", by_key=by_key)
    hand.press("Last part on from page 4", by_key=by_key)
    assert "#page-4" in page.url and page.locator("#page-5 .page-words").inner_text() == "The pail hung still."
    hand.press("Place this text on its pages", by_key=by_key)
    hand.press("Invite people", role="link", by_key=by_key)
    page.fill("[name=people]", "Juniper <juniper@aldersea.example> illustrator\nPetra <petra@reed.example> editor")
    hand.press("Send the invitations", by_key=by_key)
    book = Invitation.objects.first().book
    assert hand.n == 8 and hand.n * SECONDS_A_PRESS < 5 * 60
    assert {text.spread.label for text in texts_of(book).values()} == {"Pages 4–5", "Pages 8–9"}
    assert SpreadText.objects.count() == 2 and Invitation.objects.count() == 2
    assert page.problems == []
    offered = Invitation.objects.get(role=Role.ILLUSTRATOR)
    drawn_by = take_seat(offered.secret, name="Juniper", password=PASSWORD)
    desk = visit(drawn_by.person, "/")
    assert "Hand in" in desk.locator("main").inner_text()


def test_every_guide_is_one_screen_and_shuts_nobody_out(visit: Any) -> None:
    person = make_person(email=NAMES[Role.EDITOR][1], name=NAMES[Role.EDITOR][0], password=PASSWORD)
    page = visit(person, "/guide/editor/", viewport={"width": 1440, "height": 900})
    assert Axe().run(page).violations_count == 0
    for role in Role:
        page.goto(page.url.replace(page.url.split("/")[-2], role.value))
        assert page.evaluate("document.documentElement.scrollHeight") <= 900, role
        page.set_viewport_size({"width": 390, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, role
        page.set_viewport_size({"width": 1440, "height": 900})
    assert page.problems == []
