"""The schedule: everything over time, the same as a table, and a forecast that says how old it is."""

import re
import subprocess
import sys
from datetime import UTC, date, datetime
from xml.etree import ElementTree

import pytest
from django.urls import reverse
from django.utils import timezone

from reviews import jobs
from reviews.actions.clock import as_if_at
from reviews.models import Forecast, Job, Passage
from reviews.pages.wording.dates import day_words
from reviews.pages.wording.outlook import chances
from reviews.rules.states import Gate, Role
from reviews.tasks.runner import run_job
from tests.agreed import move_due_date
from tests.cast import gather, sign_in
from tests.kept import scene
from tests.letter_scene import answered, pinned, sent
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 18, 12, tzinfo=UTC)


@scene
def a_week_in():
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        cast = gather(a_book())
    with as_if_at(datetime(2026, 11, 5, 9, tzinfo=UTC)):
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
        handed_in(cast.passage("Pages 6–7", "ideas"), cast.illustrator)
        move_due_date(
            cast.passage("Pages 8–9", "ideas").pk, to=date(2026, 11, 27), reason="Flu.", actor=cast.illustrator
        )
    with as_if_at(datetime(2026, 11, 9, 9, tzinfo=UTC)):
        asked = cast.passage("Pages 4–5", "ideas")
        pinned(asked, cast.art_director)
        answered(cast, asked, "ask")
        sent(cast)
    return cast


@pytest.fixture
def cast(monkeypatch):
    cast = a_week_in()
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return cast


def looked(client, cast, role=Role.ART_DIRECTOR) -> str:
    sign_in(client, cast.seat(role).person)
    response = client.get(reverse("reviews:schedule", args=[cast.book.pk]))
    assert response.status_code == 200
    return response.content.decode()


def computed(cast) -> None:
    for job in Job.objects.filter(kind=jobs.FORECAST, state="queued"):
        run_job(job.pk)


def picture(page: str) -> ElementTree.Element:
    return ElementTree.fromstring(re.search(r'<svg class="schedule" .*?</svg>', page, re.S)[0])


def titles(drawn: ElementTree.Element) -> list[str]:
    return [element.text or "" for element in drawn.iter() if element.tag.endswith("title")]


def test_the_first_look_asks_for_a_forecast_and_shows_everything_else(client, cast):
    Job.objects.filter(kind=jobs.FORECAST).delete()
    page = looked(client, cast)
    assert "The forecast is being computed now" in page
    assert Job.objects.filter(kind=jobs.FORECAST).count() == 1
    looked(client, cast)
    assert Job.objects.filter(kind=jobs.FORECAST).count() == 1
    assert "with the illustrator from 2 November 2026" in page


def test_the_forecast_says_when_and_from_what_it_was_computed(client, cast):
    looked(client, cast)
    computed(cast)
    page = looked(client, cast)
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", page))
    outlook = Forecast.objects.get(book=cast.book).text["outlook"]
    p50, p80 = (date.fromisoformat(outlook[name]) for name in ("p50_on", "p80_on"))
    assert f"Done as likely as not by {day_words(p50)}, four chances in five by {day_words(p80)}." in text
    # Nothing is finished yet: the days are estimates, and nobody is judged by them.
    assert "These days are estimates: nothing of this book has been finished yet" in text
    assert "the estimate is this portal’s own, and neither side’s" in text
    assert chances(outlook["chance"]) not in text
    assert "Computed 18 November 2026, 12:00 UTC" in text
    assert "played through 10000 times" in text
    for words in ("The spread that costs most", "The side that costs most", "If the letter goes today"):
        assert words not in text
    assert "futures" not in text
    assert "A forecast is not a promise" in text
    assert "being computed now" not in text


def test_a_forecast_the_book_has_outgrown_is_shown_as_old(client, cast):
    looked(client, cast)
    computed(cast)
    with as_if_at(NOW):
        handed_in(cast.passage("Pages 10–11", "ideas"), cast.illustrator)
    page = looked(client, cast)
    assert "The book has moved on since this was computed" in page
    assert "Done as likely as not by" in page
    computed(cast)
    assert "has moved on" not in looked(client, cast)


def test_a_forecast_that_was_given_up_is_said_and_the_rest_holds(client, cast):
    looked(client, cast)
    Job.objects.filter(kind=jobs.FORECAST, state="queued").update(
        state="failed", finished_at=NOW, error={"code": "gave-up", "n": 3}
    )
    page = looked(client, cast)
    assert "The forecast could not be computed" in page
    assert picture(page) is not None


def test_every_bar_mark_and_band_of_the_picture_is_told_in_words(client, cast):
    looked(client, cast)
    computed(cast)
    drawn = picture(looked(client, cast))
    told = titles(drawn)
    assert any("Pages 4–5, Ideas: with the publisher from 5 November 2026" in words for words in told)
    assert any("Pages 8–9, Ideas: now due on 27 November 2026" in words for words in told)
    assert any(words.startswith("Cover: done as likely as not by") for words in told)
    assert any(words.startswith("The whole book: done as likely as not by") for words in told)
    shown = [e for e in drawn.iter() if e.tag.endswith("use") or (e.tag.endswith("rect") and e.get("x"))]
    # One title each; the red under a late bar is told by the bar's own.
    assert len([e for e in shown if e.get("class") != "late"]) == len(told) - 1 > 20


def test_whose_days_are_told_by_fill_and_not_by_colour(client, cast):
    drawn = picture(looked(client, cast))
    bars = [e for e in drawn.iter() if (e.get("class") or "").startswith("bar")]
    hatched = [bar for bar in bars if bar.get("fill") == "url(#time-drawing)"]
    solid = [bar for bar in bars if bar.get("class") == "bar answering"]
    assert hatched
    assert solid
    assert len(hatched) + len(solid) == len(bars)
    assert any(e.get("id") == "time-drawing" for e in drawn.iter())


def test_nothing_of_the_picture_lies_outside_it(client, cast):
    looked(client, cast)
    computed(cast)
    drawn = picture(looked(client, cast))
    height, n = int(drawn.get("height")), 0
    for element in drawn.iter():
        if (element.get("x") or "").endswith("%"):
            x, wide = (float((element.get(name) or "0%").rstrip("%")) for name in ("x", "width"))
            assert 0 <= x <= x + wide <= 100.001
            assert 0 <= int(element.get("y")) < height
            n += 1
    assert n > 50


def test_the_table_says_the_same_with_the_reasons(client, cast):
    page = looked(client, cast)
    table = re.search(r'<table class="ruled schedule-table">.*?</table>', page, re.S)[0]
    assert "Flu." in table
    assert "27 Nov 2026" in table
    assert "with the publisher from 5 November 2026" in table
    n_lines = table.count("<tr>") - 1
    shown = Passage.objects.live().filter(book=cast.book).exclude(stage__gate=Gate.HIDDEN)
    assert n_lines == shown.count()


def test_a_stage_the_publisher_does_not_see_is_shown_to_the_illustrator_only(client, cast):
    for role in (Role.ART_DIRECTOR, Role.EDITOR, Role.AGENT, Role.PRODUCTION):
        page = looked(client, cast, role)
        assert ">Ink<" not in page
        assert "Ink:" not in page
    assert "Ink: planned for" in looked(client, cast, Role.ILLUSTRATOR)


def test_no_style_stands_in_the_page(client, cast):
    page = looked(client, cast)
    assert " style=" not in page
    assert "<style" not in page
    assert not re.search(r"<script(?![^>]*src=)", page)


def test_a_spread_that_cannot_be_done_in_time_is_said_first(client, monkeypatch):
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        cast = gather(a_book(final_on=date(2027, 4, 16)))
    monkeypatch.setattr(timezone, "now", lambda: datetime(2027, 1, 20, 12, tzinfo=UTC))
    page = looked(client, cast)
    assert "cannot be done by 16 April 2027 any more" in page
    assert "Contract date" in page


@pytest.mark.parametrize("state", ["first", "waiting", "current"])
def test_a_few_queries_whether_looked_at_first_or_again(client, cast, state, django_assert_max_num_queries):
    if state != "first":
        looked(client, cast)
    if state == "current":
        computed(cast)
    sign_in(client, cast.art_director.person)
    # The first look also writes down the work it asks for, between two words to the database.
    with django_assert_max_num_queries(12 if state == "first" else 9):
        client.get(reverse("reviews:schedule", args=[cast.book.pk]))


def test_a_request_loads_no_numpy():
    """The import contract reads the code; this loads every address and looks."""
    code = (
        "import django, sys; django.setup()\n"
        "from django.urls import get_resolver; get_resolver().url_patterns\n"
        "sys.exit('numpy' in sys.modules)"
    )
    ran = subprocess.run([sys.executable, "-c", f"import tests.environment\n{code}"], capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr


def test_the_ways_through_the_book_stand_below_the_title_as_elsewhere(client, cast):
    page = looked(client, cast)
    assert page.index("<h1>Schedule</h1>") < page.index('<nav class="book-nav')
