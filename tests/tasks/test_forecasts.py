"""The forecast is computed behind the request, once for the same inputs."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.utils import timezone

from reviews import jobs
from reviews.actions.clock import as_if_at
from reviews.actions.forecasts import KEPT, ask_for_forecast, keep_forecast
from reviews.models import Forecast, Job, Notice
from reviews.queries.forecasts import forecast_of
from reviews.queries.reckoning import reckon_one
from reviews.rules.mailing import NoticeKind
from reviews.tasks import forecasts
from reviews.tasks.runner import run_job
from tests.agreed import move_due_date
from tests.cast import gather
from tests.makers import a_book, handed_in

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 5, 12, tzinfo=UTC)


@pytest.fixture
def cast(monkeypatch):
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        cast = gather(a_book(final_on=date(2027, 6, 30)))
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    return cast


def compute(book) -> Job:
    job = ask_for_forecast(book, reckon_one(book, NOW).question().fingerprint)
    run_job(job.pk)
    job.refresh_from_db()
    return job


def test_the_worker_computes_and_keeps_what_was_asked_for(cast):
    assert compute(cast.book).state == "done"
    found = forecast_of(cast.book, reckon_one(cast.book, NOW).question().fingerprint)
    assert found.is_current
    outlook = found.told.outlook
    assert outlook.today == NOW.date()
    assert outlook.today < outlook.p50_on <= outlook.p80_on
    assert outlook.target_on == date(2027, 6, 30)
    assert 0 <= outlook.chance <= 1
    assert len(outlook.spreads) == 8
    assert len(found.told.what_ifs) == 3


def test_the_same_book_gives_the_same_figures_and_is_computed_once(cast, monkeypatch):
    compute(cast.book)
    kept = Forecast.objects.get().text
    again = forecasts.told_to_text(forecasts.told(reckon_one(cast.book, NOW).question()))
    assert again == kept
    monkeypatch.setattr(forecasts, "told", lambda question: 1 / 0)
    assert compute(cast.book).state == "done"
    assert Forecast.objects.count() == 1


def test_a_ledger_that_moved_makes_the_forecast_old_and_a_note_does_not(cast):
    compute(cast.book)
    before = reckon_one(cast.book, NOW).question().fingerprint
    with as_if_at(NOW):
        handed_in(cast.passage("Pages 4–5", "ideas"), cast.illustrator)
    after = reckon_one(cast.book, NOW).question().fingerprint
    assert before != after
    found = forecast_of(cast.book, after)
    assert found is not None
    assert not found.is_current


def test_only_the_newest_few_forecasts_of_a_book_are_kept_and_another_books_are_left_alone(cast, monkeypatch):
    other = gather(a_book(title="The Heron Who Could Not Whistle")).book
    keep_forecast(other.pk, "theirs", {})
    for n in range(KEPT + 3):
        monkeypatch.setattr(timezone, "now", lambda n=n: NOW + timedelta(days=n))
        keep_forecast(cast.book.pk, f"inputs {n}", {})
    kept = Forecast.objects.filter(book=cast.book).order_by("computed_at").values_list("inputs", flat=True)
    assert list(kept) == [f"inputs {n}" for n in range(3, KEPT + 3)]
    assert Forecast.objects.filter(book=other).count() == 1


def test_a_forecast_that_was_let_go_is_computed_again_when_its_inputs_come_back(cast, monkeypatch):
    compute(cast.book)
    inputs = Forecast.objects.get().inputs
    for n in range(KEPT):
        monkeypatch.setattr(timezone, "now", lambda n=n: NOW + timedelta(minutes=1 + n))
        keep_forecast(cast.book.pk, f"inputs {n}", {})
    assert not Forecast.objects.filter(inputs=inputs).exists()
    monkeypatch.setattr(timezone, "now", lambda: NOW + timedelta(hours=1))
    job = ask_for_forecast(cast.book, inputs)
    assert job.state == "queued"
    assert ask_for_forecast(cast.book, inputs).pk == job.pk
    assert run_job(job.pk)
    assert Forecast.objects.filter(inputs=inputs).exists()


def test_a_deed_that_can_put_the_end_out_of_reach_is_looked_at_the_same_day(cast):
    passage = cast.passage("Pages 4–5", "ideas")
    with as_if_at(NOW):
        move_due_date(passage.pk, to=date(2026, 11, 20), reason="A wedding.", actor=cast.illustrator)
    last = Job.objects.filter(kind=jobs.FORECAST).order_by("pk").last()
    assert last.key.startswith(f"forecast:{cast.book.pk}:after-")
    assert run_job(last.pk)
    assert Forecast.objects.filter(book=cast.book).count() == 1


def test_the_job_also_says_what_cannot_be_met(cast, monkeypatch):
    monkeypatch.setattr(forecasts, "told", lambda question: forecasts.Told(None, ()))
    monkeypatch.setattr(forecasts, "told_to_text", lambda told: {})
    monkeypatch.setattr(timezone, "now", lambda: datetime(2027, 6, 1, 12, tzinfo=UTC))
    job = jobs.enqueue(jobs.FORECAST, cast.book.pk, key="forecast:now")
    run_job(job.pk)
    told = Notice.objects.filter(kind=NoticeKind.CANNOT_MEET).values_list("person__name", flat=True)
    assert {"Juniper Aldersea", "Corvin Mallowe"} <= set(told)
