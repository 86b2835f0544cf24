"""Everything that changes a Job row after it was enqueued.

Each function is one conditional UPDATE, or a few, that counts its rows: claiming and finishing are
compare-and-set, so two workers, a late worker and a sweep can all act at once and one of them wins.
"""

import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from reviews.models.jobs import Job, JobState

NO_LEASE = {"lease_until": None, "lease_token": ""}
WORN_OUT = "The worker stopped {n} times in the middle of this. An administrator finds the reason in its log."


class LeaseLost(Exception):
    """The job was given to another worker meanwhile: whatever was computed must be dropped."""


@dataclass(frozen=True)
class Claim:
    """A job in the hands of one worker."""

    job_id: int
    kind: str
    subject_id: int
    key: str
    attempt: int
    token: str


def claim_job(job_id: int) -> Claim | None:
    """Take one queued job, or an abandoned one; return nothing where somebody else has it or it is over."""
    now = timezone.now()
    job = Job.objects.filter(pk=job_id).first()
    if job is None or job.attempts >= settings.JOB_MAX_ATTEMPTS:
        return None
    token = secrets.token_hex(16)
    takeable = Job.objects.ready(now) | Job.objects.abandoned(now)
    # `attempts` in the condition makes it compare-and-set also between two claims of an abandoned job.
    taken = (
        takeable.filter(pk=job_id, attempts=job.attempts)
        .order_by()
        .update(
            state=JobState.RUNNING,
            attempts=job.attempts + 1,
            lease_until=now + timedelta(seconds=settings.JOB_LEASE_SECONDS),
            lease_token=token,
            progress=0,
            progress_words="",
        )
    )
    return Claim(job.pk, job.kind, job.subject_id, job.key, job.attempts + 1, token) if taken else None


def claim_next() -> Claim | None:
    """Take the job that has waited longest (embedded worker): 1 SQL statement when there is none, else 3."""
    for job_id in Job.objects.ready(timezone.now()).values_list("pk", flat=True)[:8]:
        if claim := claim_job(job_id):
            return claim
    return None


def renew_lease(claim: Claim) -> None:
    """Keep the job for another lease; raise LeaseLost where it is no longer ours."""
    _held(claim, lease_until=timezone.now() + timedelta(seconds=settings.JOB_LEASE_SECONDS))


def note_progress(claim: Claim, percent: int, words: str = "") -> None:
    """Say how far the work has come, for the page that waits for it."""
    _held(claim, progress=max(0, min(100, percent)), progress_words=words[:200])


def settle_job(claim: Claim) -> None:
    """Mark the job done. Called inside the transaction that writes the result, it makes both one deed:

    either the result and the end of the job are there, or neither, however the worker died.
    """
    _held(claim, state=JobState.DONE, finished_at=timezone.now(), progress=100, error="", **NO_LEASE)


def settle_job_if_open(claim: Claim) -> None:
    """Mark the job done unless its function already did so with its result."""
    if not Job.objects.filter(pk=claim.job_id, state=JobState.DONE).exists():
        settle_job(claim)


def fail_job(claim: Claim, sentence: str) -> None:
    """End the job without success, for a reason that a person can read."""
    _held(claim, state=JobState.FAILED, finished_at=timezone.now(), error=sentence[:500], **NO_LEASE)


def retry_job_later(claim: Claim, sentence: str, *, seconds: float) -> None:
    """Put the job back to be tried again after a pause, keeping what went wrong."""
    later = timezone.now() + timedelta(seconds=seconds)
    _held(claim, state=JobState.QUEUED, run_after=later, sent_at=None, error=sentence[:500], **NO_LEASE)


def begin_again(job_id: int) -> bool:
    """Queue a failed job afresh, as an administrator asks; say whether it was a failed one."""
    now = timezone.now()
    return bool(
        Job.objects.filter(pk=job_id, state=JobState.FAILED).update(
            state=JobState.QUEUED,
            attempts=0,
            run_after=now,
            sent_at=None,
            finished_at=None,
            error="",
            progress=0,
        )
    )


def release_all_leases() -> int:
    """Put back every running job: for the one embedded worker only, as it starts and nobody else can run."""
    return Job.objects.filter(state=JobState.RUNNING).update(
        state=JobState.QUEUED, run_after=timezone.now(), sent_at=None, **NO_LEASE
    )


def requeue_abandoned() -> int:
    """Put back the jobs whose worker died, and end those that outlived their attempts; return how many."""
    now = timezone.now()
    with transaction.atomic():
        back = (
            Job.objects.abandoned(now).order_by().update(state=JobState.QUEUED, run_after=now, sent_at=None, **NO_LEASE)
        )
        Job.objects.filter(state=JobState.QUEUED, attempts__gte=settings.JOB_MAX_ATTEMPTS).update(
            state=JobState.FAILED, finished_at=now, error=WORN_OUT.format(n=settings.JOB_MAX_ATTEMPTS)
        )
    return back


def take_unsent() -> Iterator[int]:
    """Yield the ids to send (again) to the broker, marking each so that two sweeps do not both send it.

    A message may also wait long in a busy queue; a second copy of it is harmless, as claiming decides.
    """
    now = timezone.now()
    waiting = Job.objects.ready(now).exclude(sent_at__gt=now - timedelta(seconds=settings.JOB_RESEND_SECONDS))
    for job_id, sent_at in list(waiting.values_list("pk", "sent_at")[:1000]):
        same = {"sent_at": sent_at} if sent_at else {"sent_at__isnull": True}
        if Job.objects.filter(pk=job_id, state=JobState.QUEUED, **same).update(sent_at=now):
            yield job_id


def _held(claim: Claim, **fields: object) -> None:
    """Write to the row only while the claim still holds it."""
    if not Job.objects.filter(pk=claim.job_id, state=JobState.RUNNING, lease_token=claim.token).update(**fields):
        raise LeaseLost(f"Job {claim.job_id} ({claim.kind} {claim.subject_id}) is no longer ours.")
