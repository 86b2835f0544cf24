from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from reviews import jobs
from reviews.actions.jobs import (
    LeaseLost,
    begin_again,
    begin_all_again,
    claim_job,
    claim_next,
    fail_job,
    note_progress,
    put_back_unsent,
    release_all_leases,
    renew_lease,
    requeue_abandoned,
    retry_job_later,
    settle_job,
    settle_job_if_open,
    take_unsent,
)
from reviews.models.jobs import Job, JobState
from reviews.pages.wording.jobs import error_words

pytestmark = pytest.mark.django_db


def lose_worker(job: Job) -> None:
    """Let the lease run out, as it does when a worker died."""
    Job.objects.filter(pk=job.pk).update(lease_until=timezone.now() - timedelta(seconds=1))


def test_same_key_is_the_same_work():
    first = jobs.enqueue(jobs.MAIL, 7)
    assert jobs.enqueue(jobs.MAIL, 7) == first
    assert jobs.enqueue(jobs.MAIL, 7, key="mail:7:again") != first
    assert Job.objects.count() == 2


def test_unknown_kind_is_refused():
    with pytest.raises(ValueError, match="name it in reviews"):
        jobs.enqueue("mial", 7)


def test_job_is_undone_with_its_deed():
    with pytest.raises(RuntimeError), transaction.atomic():
        jobs.enqueue(jobs.MAIL, 7)
        raise RuntimeError
    assert not Job.objects.exists()


def test_only_one_of_two_claims_holds():
    job = jobs.enqueue(jobs.MAIL, 7)
    assert claim_job(job.pk).attempt == 1
    assert claim_job(job.pk) is None
    assert claim_next() is None


def test_longest_waiting_is_taken_first_and_the_future_waits():
    now = timezone.now()
    jobs.enqueue(jobs.MAIL, 1, run_after=now + timedelta(hours=1))
    jobs.enqueue(jobs.MAIL, 2)
    jobs.enqueue(jobs.MAIL, 3)
    Job.objects.filter(subject_id=3).update(created_at=now - timedelta(minutes=2))
    assert [claim_next().subject_id, claim_next().subject_id] == [3, 2]
    assert claim_next() is None


def test_idle_look_costs_one_statement(django_assert_num_queries):
    with django_assert_num_queries(1):
        claim_next()


def test_late_worker_finds_its_lease_gone_and_its_result_is_dropped():
    job = jobs.enqueue(jobs.MAIL, 7)
    late = claim_job(job.pk)
    lose_worker(job)
    second = claim_job(job.pk)
    assert second.attempt == 2
    for last_word in (settle_job, renew_lease, settle_job_if_open):
        with pytest.raises(LeaseLost):
            last_word(late)
    with pytest.raises(LeaseLost):
        note_progress(late, 50)
    settle_job(second)
    assert Job.objects.get().state == JobState.DONE


def test_result_and_end_stand_or_fall_together():
    job = jobs.enqueue(jobs.MAIL, 7)
    late = claim_job(job.pk)
    lose_worker(job)
    claim_job(job.pk)
    with pytest.raises(LeaseLost), transaction.atomic():
        jobs.enqueue(jobs.COMPARE, 99)  # stands for the result that an action writes
        settle_job(late)
    assert not Job.objects.filter(kind=jobs.COMPARE).exists()


def test_settled_inside_its_action_is_not_settled_again():
    claim = claim_job(jobs.enqueue(jobs.MAIL, 7).pk)
    settle_job(claim)
    settle_job_if_open(claim)
    assert Job.objects.get().progress == 100


def test_failure_keeps_its_sentence_and_may_be_begun_again():
    job = jobs.enqueue(jobs.MAIL, 7)
    assert not begin_again(job.pk)
    fail_job(claim_job(job.pk), "The address does not exist.")
    job.refresh_from_db()
    assert (job.state, job.error) == (JobState.FAILED, "The address does not exist.")
    assert claim_job(job.pk) is None
    assert begin_again(job.pk)
    assert claim_job(job.pk).attempt == 1


def test_retry_waits():
    job = jobs.enqueue(jobs.MAIL, 7)
    retry_job_later(claim_job(job.pk), "Not now.", seconds=60)
    assert claim_job(job.pk) is None
    Job.objects.update(run_after=timezone.now())
    assert claim_job(job.pk).attempt == 2


def test_abandoned_work_goes_back_and_living_work_stays():
    dead, living = jobs.enqueue(jobs.MAIL, 1), jobs.enqueue(jobs.MAIL, 2)
    claim_job(dead.pk), claim_job(living.pk)
    lose_worker(dead)
    assert requeue_abandoned() == 1
    assert claim_next().job_id == dead.pk
    assert claim_next() is None


def test_work_that_kills_every_worker_ends(settings):
    settings.JOB_MAX_ATTEMPTS = 3
    job = jobs.enqueue(jobs.MAIL, 7)
    for _ in range(3):
        assert claim_job(job.pk)
        lose_worker(job)
        requeue_abandoned()
    job.refresh_from_db()
    assert job.state == JobState.FAILED
    assert "stopped 3 times" in error_words(job)


def test_new_embedded_worker_takes_back_what_a_dead_one_held():
    job = jobs.enqueue(jobs.MAIL, 7)
    claim_job(job.pk)
    assert release_all_leases() == 1
    assert claim_next().job_id == job.pk


def test_sweep_sends_once_what_waits_unsent(settings):
    fresh, late = jobs.enqueue(jobs.MAIL, 1), jobs.enqueue(jobs.MAIL, 2)
    Job.objects.filter(pk=late.pk).update(sent_at=timezone.now() - timedelta(seconds=settings.JOB_RESEND_SECONDS + 1))
    never = jobs.enqueue(jobs.MAIL, 3)
    Job.objects.filter(pk=fresh.pk).update(sent_at=timezone.now())
    assert [job_id for job_id, _ in take_unsent()] == [late.pk, never.pk]
    assert list(take_unsent()) == []
    put_back_unsent(never.pk)
    assert list(take_unsent()) == [(never.pk, jobs.MAIL)]


def test_a_job_counts_as_sent_only_once_the_broker_took_it(settings, django_capture_on_commit_callbacks, monkeypatch):
    settings.HOUSE = True
    for took, subject in ((False, 1), (True, 2)):
        monkeypatch.setattr(jobs, "send", lambda *_, took=took: took)
        with django_capture_on_commit_callbacks(execute=True):
            job = jobs.enqueue(jobs.RENDITIONS, subject)
        job.refresh_from_db()
        assert (job.sent_at is not None) is took


@pytest.mark.parametrize("ahead", [timedelta(hours=1), timedelta(days=1)])
def test_a_clock_put_right_delays_nothing(monkeypatch, ahead):
    right = timezone.now()
    monkeypatch.setattr(timezone, "now", lambda: right + ahead)
    at_once = jobs.enqueue(jobs.RENDITIONS, 1)
    paused = jobs.enqueue(jobs.MAIL, 2)
    retry_job_later(claim_job(paused.pk), "Not now.", seconds=60)
    held = jobs.enqueue(jobs.MAIL, 3)
    claim_job(held.pk)
    Job.objects.filter(pk=at_once.pk).update(sent_at=timezone.now())
    assert claim_job(paused.pk) is None, "by the clock that set it the pause is not over"
    monkeypatch.setattr(timezone, "now", lambda: right)
    assert {job_id for job_id, _ in take_unsent()} == {paused.pk, at_once.pk}
    assert claim_job(at_once.pk) and claim_job(paused.pk)
    assert requeue_abandoned() == 1, "a lease of the fast clock would have held this for as long as it was ahead"
    assert claim_job(held.pk)


def test_pictures_go_first_and_mail_waits_in_its_own_line():
    jobs.enqueue(jobs.MAIL, 1)
    jobs.enqueue(jobs.COMPARE, 2)
    jobs.enqueue(jobs.RENDITIONS, 3)
    assert [claim_next(mail=False).subject_id, claim_next(mail=False).subject_id] == [3, 2]
    assert claim_next(mail=False) is None
    assert claim_next(mail=True).subject_id == 1


def test_every_failed_job_is_begun_again_at_once():
    for subject in (1, 2):
        fail_job(claim_job(jobs.enqueue(jobs.MAIL, subject).pk), "The mail server is away.")
    assert begin_all_again() == 2
    assert begin_all_again() == 0
    assert {claim_next().subject_id, claim_next().subject_id} == {1, 2}


@pytest.mark.parametrize(
    "wrong",
    [
        {"state": "paused"},
        {"progress": 101},
        {"state": "running"},
        {"state": "done"},
        {"state": "failed", "finished_at": timezone.now()},
        {"lease_token": "x", "lease_until": timezone.now()},
    ],
)
def test_database_refuses_a_row_that_cannot_be(wrong):
    job = jobs.enqueue(jobs.MAIL, 7)
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job.pk).update(**wrong)
