"""A spread dropped, added and brought back in a real browser, by one side's proposal and the other's word."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from reviews.models import Proposal, Spread
from tests.browser.hands import Hand, window
from tests.cast import gather
from tests.letter_scene import a_round
from tests.makers import a_book

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
WHY = "The middle is too long."


@pytest.fixture
def cast():
    """One spread was asked to change once, so that the pages are both sides' affair."""
    cast = gather(a_book())
    a_round(cast, cast.passage("Pages 6–7", "ideas"), 1)
    return cast


def labels(cast: Any) -> list[str]:
    rows = Spread.objects.filter(book=cast.book, removed_at=None).order_by("position")
    return list(rows.values_list("label", flat=True))


def dropped(page: Any, hand: Hand, label: str) -> None:
    """Propose on the pages of the book to drop a spread."""
    piece = page.locator(f'.strip-of-pages li:has(> span:text-is("{label}"))')
    hand.press(piece.locator("summary", has_text="Drop"))
    hand.write(piece.get_by_label("Why, read by both sides").last, WHY)
    hand.press(piece.get_by_role("button", name="Propose to drop it"))
    page.get_by_text("Until the other side agrees, the pages stay as they are.").wait_for()


def accepted(visit: Any, cast: Any, seat: Any, width: int, way: str) -> Any:
    """Let the other side read what is proposed, from the desk on, and accept it; gives their page."""
    page = visit(seat.person, "/", has_pictures=False, **window(width, way))
    hand = Hand(page, way)
    hand.press(page.get_by_role("link", name="Accept it, decline it, or answer with another"))
    page.wait_for_url("**/proposals/**", wait_until="domcontentloaded")
    assert "No amount of the terms changes by it." in page.locator("main").inner_text()
    hand.press(page.get_by_role("button", name="Accept", exact=True))
    page.get_by_text("You agreed to proposal").wait_for()
    assert page.problems == []
    return page


@pytest.mark.parametrize(("width", "way"), [(1440, "mouse"), (820, "touch"), (390, "touch"), (1440, "keys")])
def test_dropped_and_brought_back_by_both_sides(visit: Any, cast: Any, width: int, way: str):
    plan = reverse("reviews:plan", args=[cast.book.pk])
    page = visit(cast.art_director.person, plan, has_pictures=False, **window(width, way))
    hand = Hand(page, way)
    dropped(page, hand, "Pages 6–7")
    assert "Pages 6–7" in labels(cast), "nothing changes by one side's word"

    accepted(visit, cast, cast.illustrator, width, way)
    assert "Pages 6–7" not in labels(cast)

    theirs = visit(cast.illustrator.person, plan, has_pictures=False, **window(width, way))
    hand = Hand(theirs, way)
    kept = theirs.locator(".dropped li", has_text="Pages 6–7")
    hand.press(kept.get_by_role("link", name="Pages 6–7"))
    theirs.get_by_role("heading", name="Pages 6–7, dropped").wait_for()
    assert "Change 1." in theirs.locator("main").inner_text(), "what the letter asked is read on"

    theirs.goto(theirs.url.rpartition("/spreads/")[0] + plan)
    hand.press(kept.locator("summary"))
    hand.write(kept.get_by_label("Why, read by both sides"), "It is missed.")
    hand.press(kept.get_by_role("button", name="Propose it"))
    theirs.get_by_text("Until the other side agrees, the pages stay as they are.").wait_for()
    accepted(visit, cast, cast.art_director, width, way)
    assert "Pages 6–7" in labels(cast) and Proposal.objects.filter(state="accepted").count() == 2
    assert page.problems == [] and theirs.problems == []


def test_a_spread_is_added_on_free_pages_and_stands_on_the_illustrators_desk(visit: Any, cast: Any):
    plan = reverse("reviews:plan", args=[cast.book.pk])
    page = visit(cast.art_director.person, plan, has_pictures=False)
    hand = Hand(page, "mouse")
    dropped(page, hand, "Pages 10–11")
    accepted(visit, cast, cast.illustrator, 1440, "mouse")

    page.goto(page.url.partition("/books/")[0] + plan)
    assert page.get_by_text("Free pages, without art: Pages 10–11.").is_visible()
    hand.press(page.locator("summary", has_text="Propose to add a spread"))
    hand.pick(page.get_by_label("On these free pages").first, "10-11")
    hand.write(page.locator("#add-why"), "The chase needs room.")
    hand.press(page.get_by_role("button", name="Propose to add it"))
    page.get_by_text("Until the other side agrees, the pages stay as they are.").wait_for()
    theirs = accepted(visit, cast, cast.illustrator, 1440, "mouse")
    theirs.goto(theirs.url.partition("/books/")[0] + "/")
    assert theirs.get_by_text("Pages 10–11").first.is_visible()
    assert labels(cast).count("Pages 10–11") == 1


def test_more_pages_hold_once_the_other_side_agreed(visit: Any, cast: Any):
    plan = reverse("reviews:plan", args=[cast.book.pk])
    page = visit(cast.art_director.person, plan, has_pictures=False, **window(390, "touch"))
    hand = Hand(page, "touch")
    hand.press(page.locator("summary", has_text="Propose another number of pages"))
    hand.write(page.get_by_label("Number of pages, 16 now"), "20")
    hand.write(page.locator("#count-why"), "The chase needs room.")
    hand.press(page.get_by_role("button", name="Propose this number"))
    page.get_by_text("Until the other side agrees, the pages stay as they are.").wait_for()
    assert len(labels(cast)) == 8, "nothing changes by one side's word"

    theirs = accepted(visit, cast, cast.illustrator, 390, "touch")
    assert labels(cast)[-3:] == ["Pages 14–15", "Pages 16–17", "Back ends 18–19"]
    theirs.goto(theirs.url.partition("/books/")[0] + reverse("reviews:book-map", args=[cast.book.pk]))
    assert "Pages 16–17" in theirs.locator("main").inner_text()
    assert page.problems == []


def test_two_spreads_change_places_and_the_other_side_reads_it(visit: Any, cast: Any):
    plan = reverse("reviews:plan", args=[cast.book.pk])
    was = {row.label: row.pk for row in Spread.objects.filter(book=cast.book, removed_at=None)}
    page = visit(cast.art_director.person, plan, has_pictures=False, **window(820, "keys"))
    hand = Hand(page, "keys")
    piece = page.locator('.strip-of-pages li:has(> span:text-is("Pages 6–7"))')
    hand.press(piece.locator("summary", has_text="Move"))
    hand.pick(piece.get_by_label("To the place of"), str(was["Pages 10–11"]))
    hand.write(piece.get_by_label("Why, read by both sides").first, "The heron comes later.")
    hand.press(piece.get_by_role("button", name="Swap"))
    page.get_by_text("Pages 6–7 is now Pages 10–11").wait_for()
    assert Spread.objects.get(pk=was["Pages 6–7"]).label == "Pages 10–11"

    ledger = reverse("reviews:ledger", args=[cast.book.pk])
    theirs = visit(cast.illustrator.person, ledger, has_pictures=False, **window(820, "mouse"))
    assert "The heron comes later." in theirs.locator("main").inner_text()
    assert page.problems == [] and theirs.problems == []


def test_stages_take_another_order_before_they_open_and_the_other_side_reads_it(visit: Any, cast: Any):
    plan = reverse("reviews:plan", args=[cast.book.pk])
    page = visit(cast.art_director.person, plan, has_pictures=False)
    hand = Hand(page, "mouse")
    hand.press(page.locator("summary", has_text="Edit the stages of the inside"))
    form = page.locator("form.edit-stages:visible")
    for kind, place in (("colour", "3"), ("line", "4"), ("ink", "5")):
        form.locator(f"[name={kind}-place]").fill("")
        hand.write(form.locator(f"[name={kind}-place]"), place)
    hand.press(form.get_by_role("button", name="Change the stages"))
    hand.press(page.locator("dialog").get_by_role("button", name="Change them"))
    page.get_by_text("are changed.").first.wait_for()

    theirs = visit(cast.illustrator.person, plan, has_pictures=False, **window(390, "touch"))
    read = theirs.locator("table").first.locator("tbody th").all_inner_texts()
    assert read == ["Ideas", "Sketch", "Colour", "Line", "Ink"]
    assert page.problems == [] and theirs.problems == []
