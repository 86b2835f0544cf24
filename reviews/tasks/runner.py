"""Runs one job, the same way in both modes: claim, keep the lease alive, do, finish or try again later."""

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.db import connection

from reviews.actions.jobs import (
    Claim,
    LeaseLost,
    claim_job,
    fail_job,
    renew_lease,
    retry_job_later,
    settle_job_if_open,
)
from reviews.tasks.registry import CannotBeDone, function_for

log = logging.getLogger(__name__)

FIRST_PAUSE_SECONDS = 2.0
LONGEST_PAUSE_SECONDS = 600.0
TRYING_AGAIN = "This did not work yet and will be tried again."
GAVE_UP = "This failed {n} times and was given up. An administrator finds the reason in the worker's log."


def run_job(job_id: int) -> bool:
    """Do the job if nobody else has it; say whether it was ours to do."""
    claim = claim_job(job_id)
    if claim is None:
        return False
    carry_out(claim)
    return True


def carry_out(claim: Claim) -> None:
    """Do a claimed job to whichever end it comes to. Never raises: the row says what happened."""
    try:
        with _lease_kept(claim):
            _attempt(claim)
    except LeaseLost as lost:
        log.warning("%s The result was dropped.", lost)


def pause_before(attempt: int) -> float:
    """Return the seconds to wait after this many tries: 2, 8, 32, 128, … and never over ten minutes."""
    return min(LONGEST_PAUSE_SECONDS, FIRST_PAUSE_SECONDS * 4.0 ** (attempt - 1))


def _attempt(claim: Claim) -> None:
    try:
        function_for(claim.kind)(claim)
        settle_job_if_open(claim)
    except LeaseLost:
        raise
    except CannotBeDone as reason:
        fail_job(claim, str(reason))
    except Exception:  # whatever a job raises must end in its row, not in the worker
        log.exception("Job %s (%s %s), try %s", claim.job_id, claim.kind, claim.subject_id, claim.attempt)
        if claim.attempt >= settings.JOB_MAX_ATTEMPTS:
            fail_job(claim, GAVE_UP.format(n=claim.attempt))
        else:
            retry_job_later(claim, TRYING_AGAIN, seconds=pause_before(claim.attempt))


@contextmanager
def _lease_kept(claim: Claim) -> Iterator[None]:
    """Renew the lease from a thread of its own while the job runs."""
    over = threading.Event()
    beat = threading.Thread(target=_renew_until, args=(claim, over), name=f"lease-{claim.job_id}", daemon=True)
    beat.start()
    try:
        yield
    finally:
        over.set()
        beat.join()


def _renew_until(claim: Claim, over: threading.Event) -> None:
    try:
        while not over.wait(settings.JOB_LEASE_SECONDS / 3):
            try:
                renew_lease(claim)
            except LeaseLost:
                return  # The job's own last write will find out and drop its result.
            except Exception as problem:  # a database away for a moment: the next beat may find it back
                log.warning("The lease of job %s could not be renewed: %s", claim.job_id, problem)
                connection.close()
    finally:
        connection.close()
