import errno
import logging
import smtplib
import tempfile
import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import botocore.exceptions
import pytest
from django.core import mail as outbox_of
from django.db import OperationalError
from django.utils import timezone

from reviews import jobs
from reviews.actions.clock import as_if_at
from reviews.actions.jobs import Claim, LeaseLost, claim_job, renew_lease, requeue_abandoned, settle_job
from reviews.models.jobs import Job, JobState
from reviews.pages.wording.jobs import error_sentence
from reviews.tasks import registry, runner
from reviews.tasks.registry import CannotBeDone, does
from reviews.tasks.worker import AlreadyWorking, only_worker, work, work_until_idle
from tests.cast import gather
from tests.makers import a_book


@pytest.fixture
def mail_is(monkeypatch):
    """Let a function of the test do jobs of one kind."""

    def replace(function):
        monkeypatch.setitem(registry._functions, jobs.MAIL, function)

    return replace


def run_one() -> Job:
    job = jobs.enqueue(jobs.MAIL, 7)
    assert runner.run_job(job.pk)
    job.refresh_from_db()
    return job


@pytest.mark.django_db
def test_job_is_done_once(mail_is):
    seen: list[Claim] = []
    mail_is(seen.append)
    job = run_one()
    assert job.state == JobState.DONE
    assert not runner.run_job(job.pk)
    assert [claim.subject_id for claim in seen] == [7]


@pytest.mark.django_db
def test_refusal_ends_at_once_with_its_sentence(mail_is):
    def refuse(claim):
        raise CannotBeDone("unknown-kind", kind="weave")

    mail_is(refuse)
    job = run_one()
    assert (job.state, job.error, job.attempts) == (JobState.FAILED, {"code": "unknown-kind", "kind": "weave"}, 1)


@pytest.mark.django_db
def test_accident_is_tried_again_with_longer_pauses_then_given_up(mail_is, settings, caplog):
    caplog.set_level(logging.CRITICAL)
    settings.JOB_MAX_ATTEMPTS = 3
    pauses = []
    mail_is(lambda claim: 1 / 0)
    job = run_one()
    for _ in range(2):
        pauses.append((job.run_after - job.created_at).total_seconds())
        assert job.state == JobState.QUEUED
        Job.objects.update(run_after=job.created_at)
        assert runner.run_job(job.pk)
        job.refresh_from_db()
    assert job.state == JobState.FAILED
    assert "failed 3 times" in error_sentence(job.error)
    assert pauses == [pytest.approx(2, abs=1), pytest.approx(8, abs=1)]


def test_pauses_grow_and_stay_under_ten_minutes():
    assert [runner.pause_before(n) for n in (1, 2, 3, 4, 5, 9)] == [2, 8, 32, 128, 512, 600]


def away(kind: str) -> Exception:
    class Answer(botocore.exceptions.ClientError):
        pass

    return {
        "full disk": OSError(errno.ENOSPC, "No space left on device"),
        "silent machine": TimeoutError("timed out"),
        "store": botocore.exceptions.EndpointConnectionError(endpoint_url="http://store"),
        "store says 507": Answer({"ResponseMetadata": {"HTTPStatusCode": 507}, "Error": {"Code": "507"}}, "PutObject"),
        "greylisting": smtplib.SMTPRecipientsRefused({"j@a.example": (450, b"try later")}),
        "wrong sign-in": smtplib.SMTPAuthenticationError(535, b"no"),
        "database": OperationalError("the server closed the connection"),
    }[kind]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "kind", ["full disk", "silent machine", "store", "store says 507", "greylisting", "wrong sign-in", "database"]
)
def test_an_outage_is_tried_again_for_three_days_then_given_up_in_words(mail_is, monkeypatch, caplog, kind):
    caplog.set_level(logging.WARNING, "reviews")
    seconds, tries, problem = 0.0, 0, away(kind)

    def hang(claim):
        raise problem

    mail_is(hang)
    monkeypatch.setattr(runner, "connection", SimpleNamespace(close=lambda: None))
    job = run_one()
    while job.state == JobState.QUEUED:
        tries += 1
        seconds += (job.run_after - job.paused_at).total_seconds()
        assert "tried again" in error_sentence(job.error)
        if tries in (2, 100):
            assert requeue_abandoned() == 0, "more tries than a fault of ours gets, and still not worn out"
            job.refresh_from_db()
            assert job.state == JobState.QUEUED
        Job.objects.update(run_after=job.created_at)
        assert runner.run_job(job.pk)
        job.refresh_from_db()
    assert job.state == JobState.FAILED
    assert "three days" in error_sentence(job.error)
    assert timedelta(days=2.9) < timedelta(seconds=seconds) < timedelta(days=3.1)
    assert "Traceback" not in caplog.text


@pytest.mark.django_db
@pytest.mark.parametrize(
    "problem",
    [
        smtplib.SMTPRecipientsRefused({"j@a.example": (550, b"No such user here")}),
        smtplib.SMTPDataError(552, b"No such user here"),
    ],
)
def test_a_mail_refused_for_good_ends_at_once_with_the_servers_words(mail_is, problem):
    def refuse(claim):
        raise problem

    mail_is(refuse)
    job = run_one()
    assert (job.state, job.attempts) == (JobState.FAILED, 1)
    assert "No such user here" in error_sentence(job.error)


@pytest.mark.django_db(transaction=True)
def test_a_mail_server_that_is_silent_holds_no_picture_back(monkeypatch):
    silent, read = threading.Event(), threading.Event()
    monkeypatch.setitem(registry._functions, jobs.MAIL, lambda claim: silent.wait(10))
    monkeypatch.setitem(registry._functions, jobs.RENDITIONS, lambda claim: read.set())
    for subject in range(5):
        jobs.enqueue(jobs.MAIL, subject)
    stop = threading.Event()
    worker = threading.Thread(target=work, args=(stop,), kwargs={"slots": 1})
    worker.start()
    try:
        time.sleep(0.5)
        jobs.enqueue(jobs.RENDITIONS, 9)
        assert read.wait(3)
    finally:
        silent.set()
        stop.set()
        worker.join(10)


@pytest.mark.django_db
def test_result_of_a_worker_believed_dead_is_dropped(mail_is, caplog):
    def lose(claim):
        Job.objects.update(lease_token="somebody else")
        settle_job(claim)

    caplog.set_level(logging.WARNING, "reviews")
    mail_is(lose)
    job = run_one()
    assert job.state == JobState.RUNNING
    assert "dropped" in caplog.text


@pytest.mark.django_db
def test_kind_without_a_function_fails_in_words(monkeypatch):
    monkeypatch.setattr(registry, "load", dict)
    monkeypatch.delitem(registry._functions, jobs.MAIL, raising=False)
    assert "does not know how" in error_sentence(run_one().error)


@pytest.mark.django_db(transaction=True)
def test_lease_is_renewed_while_the_job_runs(mail_is, settings):
    settings.JOB_LEASE_SECONDS = 0.6
    mail_is(lambda claim: time.sleep(1.5))
    job = jobs.enqueue(jobs.MAIL, 7)
    thread = threading.Thread(target=runner.run_job, args=(job.pk,))
    thread.start()
    time.sleep(1.0)
    assert claim_job(job.pk) is None, "taken from a worker that was alive"
    thread.join()
    job.refresh_from_db()
    assert (job.state, job.attempts) == (JobState.DONE, 1)


@pytest.mark.django_db(transaction=True)
def test_worker_does_what_waits_and_stops_when_told(mail_is):
    done = []
    mail_is(lambda claim: done.append(claim.subject_id))
    for subject in range(20):
        jobs.enqueue(jobs.MAIL, subject)
    stop = threading.Event()
    worker = threading.Thread(target=work, args=(stop,), kwargs={"slots": 2})
    worker.start()
    deadline = time.monotonic() + 10
    while Job.objects.open().exists() and time.monotonic() < deadline:
        time.sleep(0.02)
    stop.set()
    worker.join(10)
    assert not worker.is_alive()
    assert sorted(done) == list(range(20))


@pytest.mark.django_db(transaction=True)
def test_new_job_is_begun_soon(mail_is):
    begun = threading.Event()
    mail_is(lambda claim: begun.set())
    stop = threading.Event()
    worker = threading.Thread(target=work, args=(stop,), kwargs={"slots": 1})
    worker.start()
    try:
        time.sleep(0.3)
        jobs.enqueue(jobs.MAIL, 7)
        assert begun.wait(3)
    finally:
        stop.set()
        worker.join(10)


@pytest.mark.django_db(transaction=True)
def test_until_idle_also_does_what_jobs_ask_for(mail_is):
    def ask_for_more(claim):
        if claim.subject_id < 3:
            jobs.enqueue(jobs.MAIL, claim.subject_id + 1)

    mail_is(ask_for_more)
    jobs.enqueue(jobs.MAIL, 1)
    work_until_idle(slots=2)
    assert list(Job.objects.filter(kind=jobs.MAIL).values_list("state", flat=True)) == [JobState.DONE] * 3


@pytest.mark.django_db(transaction=True)
def test_until_idle_also_sends_what_is_due_this_morning(monkeypatch):
    with as_if_at(datetime(2026, 11, 2, 9, tzinfo=UTC)):
        cast = gather(a_book())
    monkeypatch.setattr(timezone, "now", lambda: datetime(2026, 11, 4, 7, tzinfo=UTC))
    for _ in range(2):
        work_until_idle(slots=2)
    [mail] = [mail for mail in outbox_of.outbox if "due dates" in mail.subject]
    assert mail.to == [cast.illustrator.person.email]
    assert not Job.objects.open().filter(kind=jobs.DIGEST).exists()


def test_second_worker_on_a_folder_is_refused(tmp_path):
    with only_worker(tmp_path), pytest.raises(AlreadyWorking, match="one is enough"), only_worker(tmp_path):
        pass
    with only_worker(tmp_path):
        pass


def test_kind_is_registered_once():
    with pytest.raises(ValueError, match="name it in reviews"):
        does("mial")


@pytest.mark.django_db
def test_lost_lease_is_told_to_the_renewer():
    job = jobs.enqueue(jobs.MAIL, 7)
    claim = claim_job(job.pk)
    Job.objects.update(lease_token="somebody else")
    with pytest.raises(LeaseLost):
        renew_lease(claim)


def test_a_worker_empties_what_a_killed_one_left_and_works_in_the_data_folder(tmp_path):
    left = tmp_path / "scratch" / ".pixels-left"
    left.mkdir(parents=True)
    (left / "half.tif").write_bytes(b"half a picture")
    before = tempfile.gettempdir()
    with only_worker(tmp_path):
        assert not left.exists()
        with tempfile.TemporaryDirectory() as name:
            assert (tmp_path / "scratch") in Path(name).parents
    assert tempfile.gettempdir() == before
