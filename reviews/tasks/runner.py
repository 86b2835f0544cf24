"""Runs one job, the same way in both modes: claim, keep the lease alive, do, finish or try again later."""

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.db import DatabaseError, connection

from reviews.actions.jobs import (
    Claim,
    LeaseLost,
    claim_job,
    fail_job,
    renew_lease,
    retry_job_later,
    settle_job_if_open,
)
from reviews.pages.wording.jobs import away_sentence
from reviews.queries.outages import Away, mail_refused_for_good, what_is_away
from reviews.tasks.registry import CannotBeDone, function_for

log = logging.getLogger(__name__)

FIRST_PAUSE_SECONDS = 2.0
LONGEST_PAUSE_SECONDS = 600.0
OUTAGE_SECONDS = 3 * 24 * 3600.0


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
    except DatabaseError as problem:
        # Even its end could not be written: the lease runs out, and the job is begun again.
        log.warning("Job %s could not be put down in the database: %s", claim.job_id, problem)
        connection.close()


def pause_before(attempt: int) -> float:
    """Return the seconds to wait after this many tries: 2, 8, 32, 128, … and never over ten minutes."""
    return min(LONGEST_PAUSE_SECONDS, FIRST_PAUSE_SECONDS * 4.0 ** min(attempt - 1, 9))


def has_waited_out(n_outages: int) -> bool:
    """Say whether the pauses after this many outages make up three days.

    Reckoned from the pauses alone: a clock that jumps by a week must not give work up, nor a worker that was off.
    """
    return sum(map(pause_before, range(1, n_outages + 1))) > OUTAGE_SECONDS


def _attempt(claim: Claim) -> None:
    try:
        function_for(claim.kind)(claim)
        settle_job_if_open(claim)
    except LeaseLost:
        raise
    except CannotBeDone as reason:
        fail_job(claim, reason.code, **reason.values)
    except Exception as problem:  # whatever a job raises must end in its row, not in the worker
        _end_badly(claim, problem)


def _end_badly(claim: Claim, problem: Exception) -> None:
    """Write down that a try failed: tried again for days where something was away, a few times otherwise."""
    name = f"Job {claim.job_id} ({claim.kind} {claim.subject_id}), try {claim.attempt}"
    if words := mail_refused_for_good(problem):
        log.warning("%s: refused for good: %s", name, words)
        fail_job(claim, "mail-refused", words=words[:400])
        return
    away = what_is_away(problem)
    if away is None:
        log.error("%s", name, exc_info=problem)
        tries = claim.attempt - claim.outages
        if tries >= settings.JOB_MAX_ATTEMPTS:
            fail_job(claim, "gave-up", n=tries)
        else:
            retry_job_later(claim, "trying-again", seconds=pause_before(tries))
        return
    # An outage is everyday news: one line, and the work goes on waiting.
    log.warning("%s: %s %s: %s", name, away_sentence(away), type(problem).__name__, problem)
    if away is Away.DATABASE:
        connection.close()
    n_outages = claim.outages + 1
    if has_waited_out(n_outages):
        fail_job(claim, "stayed-away", what=away.value)
    else:
        retry_job_later(claim, "is-away", what=away.value, seconds=pause_before(n_outages), is_outage=True)


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
