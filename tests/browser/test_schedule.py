"""The schedule and one's own page at three widths: nothing overlaps or scrolls sideways, keys reach everything."""

from datetime import timedelta
from itertools import combinations
from types import SimpleNamespace
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews.actions.clock import as_if_at
from reviews.actions.forecasts import ask_for_forecast
from reviews.models import CalendarLink, Forecast, Job
from reviews.queries.reckoning import reckon_one
from reviews.rules.contract.days import add_working_days
from reviews.rules.mailing import MailChoice
from reviews.tasks.runner import run_job
from tests.agreed import move_due_date
from tests.cast import gather
from tests.letter_scene import answered, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WIDTHS = (1440, 820, 390)

BOXES = """() => Array.from(document.querySelectorAll("svg.schedule text"))
  .filter((text) => text.getClientRects().length)
  .map((text) => {
    const box = text.getBoundingClientRect();
    return [text.textContent, box.left, box.top, box.right, box.bottom, text.getAttribute("class") || ""];
  })"""
LINES = """() => Array.from(document.querySelectorAll("svg.schedule .today, svg.schedule .final"))
  .map((line) => line.getBoundingClientRect().left)"""


@pytest.fixture
def scene(visit: Any) -> Any:
    """A book two months on its way, with a contract date, answers early and late, moved dates and a forecast."""
    now = timezone.now()
    with as_if_at(now - timedelta(days=60)):
        new = a_book(start_on=(now - timedelta(days=60)).date(), final_on=(now + timedelta(days=150)).date())
        cast = gather(new)
    with as_if_at(now - timedelta(days=50)):
        for label in ("Pages 4–5", "Pages 6–7", "Pages 8–9"):
            handed_in(cast.passage(label, "ideas"), cast.illustrator)
    with as_if_at(now - timedelta(days=40)):
        for label in ("Pages 4–5", "Pages 6–7"):
            pinned(cast.passage(label, "ideas"), cast.art_director)
            answered(cast, cast.passage(label, "ideas"), "ask" if label == "Pages 4–5" else "approve")
        sent(cast)
    with as_if_at(now - timedelta(days=2)):
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
        later = add_working_days(now.date(), 3, cast.book.calendar)
        move_due_date(cast.passage("Cover", "ideas").pk, to=later, reason="The fair.", actor=cast.illustrator)
    job = ask_for_forecast(cast.book, reckon_one(cast.book, now).question().fingerprint)
    run_job(job.pk)
    assert Forecast.objects.filter(book=cast.book).exists(), Job.objects.get(pk=job.pk).error

    def look(seat: Any, address: str, width: int) -> Any:
        return visit(seat.person, address, viewport={"width": width, "height": 900})

    return SimpleNamespace(cast=cast, look=look, schedule=reverse("reviews:schedule", args=[cast.book.pk]))


def sound(page: Any) -> None:
    """No known barrier, nothing to scroll sideways, no complaint of the browser."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page)
    assert [(one["id"], one["nodes"][0]["target"]) for one in found.response["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert page.problems == []


def reached(page: Any, words: str, *, within: int = 60) -> Any:
    """Go on by the Tab key until something with these words has the focus, and give it."""
    for _ in range(within):
        page.keyboard.press("Tab")
        focused = page.locator(":focus")
        if focused.count() and words in (focused.inner_text() or focused.get_attribute("value") or ""):
            return focused
    raise AssertionError(f"“{words}” was not reached by keys.")


def test_no_words_of_the_picture_overlap_and_none_leave_it(scene):
    for width in WIDTHS:
        page = scene.look(scene.cast.agent, scene.schedule, width)
        picture = page.locator("svg.schedule").bounding_box()
        boxes = page.evaluate(BOXES)
        assert len(boxes) > 15
        for (one, *a, _), (other, *b, _) in combinations(boxes, 2):
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, (one, other, width)
        for words, left, top, right, bottom, _ in boxes:
            assert picture["x"] - 1 <= left, words
            assert right <= picture["x"] + picture["width"] + 1, words
            assert picture["y"] <= top <= bottom <= picture["y"] + picture["height"], words


def test_no_words_stand_on_the_line_for_today_or_the_contract_date(scene):
    for width in WIDTHS:
        page = scene.look(scene.cast.art_director, scene.schedule, width)
        lines = page.evaluate(LINES)
        assert len(lines) == 2
        kinds = ("stage-name",) if width > 500 else ("line-name",)  # on a phone a row's words lie over them, on paper
        crossing = [box for box in page.evaluate(BOXES) if any(kind in box[5] for kind in kinds)]
        assert crossing
        for words, left, _, right, _, kind in crossing:
            own = "Today" in words or "Contract date" in words
            for at in lines:
                # The name of the contract date stands above where the line for today begins.
                assert own or not (left < at < right), (words, kind, width)


def test_the_picture_is_as_wide_as_the_page(scene):
    for width in (1440, 1280, 820, 390):
        page = scene.look(scene.cast.editor, scene.schedule, width)
        frame, head = page.locator(".schedule-frame").bounding_box(), page.locator(".page-head").bounding_box()
        assert frame["width"] == pytest.approx(head["width"], abs=1)
        drawn, names = page.locator("svg.schedule").bounding_box(), page.locator(".schedule-names")
        beside = names.bounding_box()["width"] if names.is_visible() else 0
        assert drawn["width"] + beside == pytest.approx(frame["width"] - 2, abs=1.5)


def test_the_schedule_has_no_known_barrier_and_its_table_opens_by_keys(scene):
    for width in WIDTHS:
        page = scene.look(scene.cast.illustrator, scene.schedule, width)
        reached(page, "How this is computed")
        page.keyboard.press("Enter")
        assert page.get_by_text("was played through 10000 times").is_visible()
        reached(page, "Show the table")
        page.keyboard.press("Enter")
        table = page.get_by_role("table")
        assert table.is_visible()
        assert table.get_by_text("The fair.").is_visible()
        reached(page, "Ideas")
        sound(page)


def test_the_answer_stands_first_in_plain_words(scene):
    for width in WIDTHS:
        page = scene.look(scene.cast.agent, scene.schedule, width)
        said = page.locator(".page-head").inner_text()
        assert "as likely as not by" in said
        assert "four chances in five by" in said
        # Two letters are no past cases: what is not known is said, and nobody is judged.
        assert "These days are estimates" in said
        assert "The contract date" not in said
        for words in ("The spread that costs most", "The side that costs most", "If the letter goes today"):
            assert page.get_by_text(words).count() == 0


def test_in_black_and_white_the_two_sides_still_differ(scene):
    """A bar of the illustrator is hatched and one of the publisher filled: neither has a colour to lose."""
    page = scene.look(scene.cast.agent, scene.schedule, 1440)
    fills = page.evaluate(
        """() => Array.from(document.querySelectorAll("svg.schedule .bar"), (bar) => getComputedStyle(bar).fill)"""
    )
    assert set(fills) == {'url("#time-drawing")', "rgb(71, 71, 71)"}


def test_ones_own_page_has_no_known_barrier(scene):
    for width in WIDTHS:
        sound(scene.look(scene.cast.agent, reverse("reviews:own-page"), width))


def test_ones_own_page_is_worked_by_keys_alone(scene):
    page = scene.look(scene.cast.agent, reverse("reviews:own-page"), 390)
    page.get_by_label("Once a day, everything in one mail").focus()
    page.keyboard.press("Space")
    reached(page, "Save")
    page.keyboard.press("Enter")
    page.get_by_text("Mail about your books: once a day, everything in one mail.").wait_for()
    scene.cast.agent.person.refresh_from_db()
    assert scene.cast.agent.person.mail == MailChoice.DAILY
    reached(page, "Make my calendar address")
    page.keyboard.press("Enter")
    page.get_by_label("The address").wait_for()
    assert CalendarLink.objects.get(revoked_at=None).secret in page.get_by_label("The address").input_value()
    for width in WIDTHS:
        sound(scene.look(scene.cast.agent, reverse("reviews:own-page"), width))


def test_the_stop_link_has_no_known_barrier_and_works_by_keys(scene):
    person = scene.cast.agent.person
    address = reverse("reviews:stop-mail", args=[person.stop_secret])
    for width in WIDTHS:
        page = scene.look(scene.cast.agent, address, width)
        sound(page)
    reached(page, "Stop all mail")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Your mail is stopped").wait_for()
    sound(page)
    person.refresh_from_db()
    assert person.mail == MailChoice.NONE
