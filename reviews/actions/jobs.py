"""Everything that changes a Job row after it was enqueued.

Each function is one conditional UPDATE, or a few, that counts its rows: claiming and finishing are
compare-and-set, so two workers, a late worker and a sweep can all act at once and one of them wins.
"""

import secrets
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from reviews.models.jobs import AHEAD, Job, JobState

NO_LEASE = {"lease_until": None, "lease_token": ""}
AT_ONCE = {"run_after": None, "paused_at": None, "sent_at": None}
AFRESH: dict[str, Any] = {
    "state": JobState.QUEUED,
    "attempts": 0,
    "outages": 0,
    "finished_at": None,
    "error": {},
    "progress": 0,
    "progress_step": {},
    **AT_ONCE,
}


class LeaseLost(Exception):
    """The job was given to another worker meanwhile: whatever was computed must be dropped."""


@dataclass(frozen=True, kw_only=True)
class Claim:
    """A job in the hands of one worker."""

    job_id: int
    kind: str
    subject_id: int
    key: str
    attempt: int
    token: str
    # Tries before this one that something else being away had ended.
    outages: int = 0


def claim_job(job_id: int) -> Claim | None:
    """Take one queued job, or an abandoned one; return nothing where somebody else has it or it is over."""
    now = timezone.now()
    job = Job.objects.filter(pk=job_id).first()
    if job is None or job.attempts - job.outages >= settings.JOB_MAX_ATTEMPTS:
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
            progress_step={},
        )
    )
    if not taken:
        return None
    return Claim(
        job_id=job.pk,
        kind=job.kind,
        subject_id=job.subject_id,
        key=job.key,
        attempt=job.attempts + 1,
        token=token,
        outages=job.outages,
    )


def claim_next(*, mail: bool | None = None, kinds: Iterable[str] = ()) -> Claim | None:
    """Take the job that comes first: of the mails or of the rest, of some kinds, or of all.

    1 SQL statement when there is none, else 3.
    """
    ready = Job.objects.ready(timezone.now())
    if mail is not None:
        ready = ready.of_lane(mail=mail)
    if kinds:
        ready = ready.filter(kind__in=list(kinds))
    for job_id in ready.values_list("pk", flat=True)[:8]:
        if claim := claim_job(job_id):
            return claim
    return None


def renew_lease(claim: Claim) -> None:
    """Keep the job for another lease; raise LeaseLost where it is no longer ours."""
    _held(claim, lease_until=timezone.now() + timedelta(seconds=settings.JOB_LEASE_SECONDS))


def note_progress(claim: Claim, percent: int, step: Mapping[str, str | int] | None = None) -> None:
    """Say how far the work has come and what is being done, for the page that waits for it."""
    _held(claim, progress=max(0, min(100, percent)), progress_step=dict(step or {}))


def settle_job(claim: Claim) -> None:
    """Mark the job done. Called inside the transaction that writes the result, it makes both one deed:

    either the result and the end of the job are there, or neither, however the worker died.
    """
    _held(claim, state=JobState.DONE, finished_at=timezone.now(), progress=100, error={}, **NO_LEASE)


def settle_job_if_open(claim: Claim) -> None:
    """Mark the job done unless its function already did so with its result."""
    if not Job.objects.filter(pk=claim.job_id, state=JobState.DONE).exists():
        settle_job(claim)


def fail_job(claim: Claim, code: str, **values: str | int) -> None:
    """End the job without success, for a reason that `pages.wording.jobs` has words for."""
    _held(claim, state=JobState.FAILED, finished_at=timezone.now(), error={"code": code, **values}, **NO_LEASE)


def retry_job_later(claim: Claim, code: str, *, seconds: float, is_outage: bool = False, **values: str | int) -> None:
    """Put the job back to be tried again after a pause, keeping what went wrong.

    A try that ended because something else was away does not count against the job itself.
    """
    now = timezone.now()
    pause = {"run_after": now + timedelta(seconds=seconds), "paused_at": now, "sent_at": None}
    outages = claim.outages + is_outage
    _held(claim, state=JobState.QUEUED, outages=outages, error={"code": code, **values}, **pause, **NO_LEASE)


def begin_again(job_id: int) -> bool:
    """Queue a failed job afresh, as an administrator asks; say whether it was a failed one."""
    return bool(Job.objects.filter(pk=job_id, state=JobState.FAILED).update(**AFRESH))


def begin_all_again() -> int:
    """Queue every failed job afresh, as an administrator asks after an outage; say how many there were."""
    return Job.objects.filter(state=JobState.FAILED).update(**AFRESH)


def begin_work_again(kind: str, subject_id: int, *, only_given_up: bool = True) -> int:
    """Queue afresh what was given up for one picture, letter, invitation …; say how many pieces of work.

    With `only_given_up` off a pause is cut short as well, so that who presses need not wait for its end.
    """
    rows = Job.objects.filter(kind=kind, subject_id=subject_id)
    n_begun = rows.filter(state=JobState.FAILED).update(**AFRESH)
    if not only_given_up:
        waiting = rows.filter(state=JobState.QUEUED, run_after__isnull=False)
        n_begun += waiting.update(run_after=None, paused_at=None, sent_at=None)
    return n_begun


def release_all_leases() -> int:
    """Put back every running job: for the one embedded worker only, as it starts and nobody else can run."""
    return Job.objects.filter(state=JobState.RUNNING).update(state=JobState.QUEUED, **AT_ONCE, **NO_LEASE)


def requeue_abandoned() -> int:
    """Put back the jobs whose worker died, and end those that outlived their attempts; return how many."""
    now = timezone.now()
    with transaction.atomic():
        back = Job.objects.abandoned(now).order_by().update(state=JobState.QUEUED, **AT_ONCE, **NO_LEASE)
        worn_out = Job.objects.filter(state=JobState.QUEUED, attempts__gte=F("outages") + settings.JOB_MAX_ATTEMPTS)
        why = {"code": "worn-out", "n": settings.JOB_MAX_ATTEMPTS}
        worn_out.update(state=JobState.FAILED, finished_at=now, error=why)
    return back


def take_unsent() -> Iterator[tuple[int, str]]:
    """Yield what to send (again) to the broker, as id and kind, marking each so that two sweeps do not both send it.

    A message may also wait long in a busy queue; a second copy of it is harmless, as claiming decides. Where a message
    did not go, whoever asked for it says so by `put_back_unsent`.
    """
    now = timezone.now()
    on_its_way = Q(sent_at__gt=now - timedelta(seconds=settings.JOB_RESEND_SECONDS), sent_at__lte=now + AHEAD)
    waiting = Job.objects.ready(now).exclude(on_its_way)
    for job_id, kind, sent_at in list(waiting.values_list("pk", "kind", "sent_at")[:1000]):
        same = {"sent_at": sent_at} if sent_at else {"sent_at__isnull": True}
        if Job.objects.filter(pk=job_id, state=JobState.QUEUED, **same).update(sent_at=now):
            yield job_id, kind


def put_back_unsent(job_id: int) -> None:
    """Take back the mark of a message that did not go, so that the next sweep sends it."""
    Job.objects.filter(pk=job_id, state=JobState.QUEUED).update(sent_at=None)


def _held(claim: Claim, **fields: object) -> None:
    """Write to the row only while the claim still holds it."""
    if not Job.objects.filter(pk=claim.job_id, state=JobState.RUNNING, lease_token=claim.token).update(**fields):
        raise LeaseLost(f"Job {claim.job_id} ({claim.kind} {claim.subject_id}) is no longer ours.")
