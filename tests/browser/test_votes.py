"""A ballot is given by buttons, by dragging, by numbers and by the keys; a page of a vote has no known barrier."""

from __future__ import annotations

from typing import Any

import pytest

from reviews.actions.votes import cast_ballot, close_vote, open_vote
from reviews.models import OptionMark, VoteBallot
from tests.browser.hands import window
from tests.cast import gather
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def scene():
    cast = gather(a_book())
    handed = handed_in(cast.passage("Cover", "ideas"), cast.illustrator, [1, 2, 3])
    guest = cast.invite_guest(handed.passage)
    vote = open_vote(handed.passage_id, decider_id=cast.art_director.pk, actor=cast.art_director)
    return cast, guest, vote


def placed(page: Any) -> list[str]:
    """Name the options that have a place, in the order of the page, with their places."""
    return page.locator("[data-option][data-placed]").evaluate_all(
        "all => all.map((one) => `${one.dataset.number}:${one.querySelector('select').value}`)"
    )


def card(page: Any, number: int) -> Any:
    return page.locator(f'[data-number="{number}"]')


def give(page: Any, way: Any) -> None:
    way(page.get_by_role("button", name="Give my ballot"))
    page.get_by_text("Your ballot is kept; this is what it says.").wait_for()


def test_buttons_dragging_numbers_and_keys_all_write_the_same_places(visit: Any, scene: Any):
    _, guest, vote = scene
    page = visit(guest.person, f"/votes/{vote.pk}/", has_pictures=False)
    page.locator("[data-ballot][data-live]").wait_for()
    assert placed(page) == []
    card(page, 3).get_by_role("button", name="Option 3 up").click()
    card(page, 1).get_by_role("button", name="Option 1 up").focus()
    page.keyboard.press("Enter")
    assert placed(page) == ["3:1", "1:2"]
    assert page.evaluate("document.activeElement.textContent.trim()") == "Option 1 up", "the focus goes with its button"
    page.keyboard.press("Enter")
    assert placed(page) == ["1:1", "3:2"]
    card(page, 2).locator(".mat").drag_to(card(page, 1).locator(".mat"))
    assert placed(page) == ["2:1", "1:2", "3:3"]
    card(page, 3).get_by_role("button", name="Option 3 down").click()
    card(page, 1).locator("select").select_option("1")
    assert sorted(placed(page)) == ["1:1", "2:1"], "the same number puts two level"
    # Enter gives no ballot: not on a number, not on a card.
    card(page, 1).locator("select").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Escape")
    assert not VoteBallot.objects.exists()
    give(page, lambda button: button.click())
    assert VoteBallot.objects.get().ranks == [sorted(vote.options[:2])]
    assert page.problems == []


def test_it_is_given_by_touch_on_a_phone_and_without_scripts(visit: Any, scene: Any):
    cast, guest, vote = scene
    phone = visit(guest.person, f"/votes/{vote.pk}/", has_pictures=False, **window(390, "touch"))
    phone.locator("[data-ballot][data-live]").wait_for()
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    card(phone, 2).get_by_role("button", name="Option 2 up").tap()
    give(phone, lambda button: button.tap())
    assert VoteBallot.objects.get(person=guest.person).ranks == [[vote.options[1]]]
    bare = visit(cast.editor.person, f"/votes/{vote.pk}/", has_pictures=False, java_script_enabled=False)
    card(bare, 3).locator("select").select_option("1")
    bare.get_by_role("button", name="Give my ballot").click()
    assert VoteBallot.objects.get(person=cast.editor.person).ranks == [[vote.options[2]]]


def test_no_page_of_a_vote_has_a_known_barrier(visit: Any, scene: Any):
    from axe_playwright_python.sync_playwright import Axe

    cast, guest, vote = scene
    page = visit(cast.art_director.person, f"/votes/{vote.pk}/", has_pictures=False)
    cast_ballot(vote.pk, [[vote.options[0]], [vote.options[1]]], actor=guest)

    def barriers(path: str) -> list[Any]:
        page.goto(page.url.split("/votes/")[0] + path)
        return [(one["id"], one["nodes"][0]["target"]) for one in Axe().run(page).response["violations"]]

    assert barriers(f"/votes/{vote.pk}/") == []
    close_vote(vote.pk, actor=cast.art_director)
    page.goto(page.url.split("/votes/")[0] + f"/passages/{vote.passage_id}/votes/")
    open_form = [(one["id"], one["nodes"][0]["target"]) for one in Axe().run(page).response["violations"]]
    assert open_form == []
    assert barriers(f"/votes/{vote.pk}/") == []


def test_a_mark_is_given_on_the_board_without_leaving_it_and_enter_gives_none(visit: Any, scene: Any):
    from axe_playwright_python.sync_playwright import Axe

    cast, _, vote = scene
    page = visit(cast.editor.person, f"/passages/{vote.passage_id}/options/", has_pictures=False)
    second = page.locator(".option-card").nth(1)
    second.get_by_label("Why").fill("Her face.")
    page.keyboard.press("Enter")
    assert not OptionMark.objects.exists()
    second.get_by_role("button", name="Maybe").click()
    second.get_by_text("Your mark on option 2 is kept.").wait_for()
    assert (OptionMark.objects.get().verdict, OptionMark.objects.get().why) == ("maybe", "Her face.")
    assert [(one["id"], one["nodes"][0]["target"]) for one in Axe().run(page).response["violations"]] == []
    second.get_by_role("button", name="Take my mark back").click()
    second.get_by_text("Your mark on option 2 is taken back.").wait_for()
    assert not OptionMark.objects.exists() and len(page.visits) == 1
    assert page.problems == []
