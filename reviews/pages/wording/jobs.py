"""Where a piece of work stands, for whoever waits for it or looks after the worker."""

from __future__ import annotations

from django.utils.translation import ngettext

from reviews.models import Job
from reviews.models.jobs import WORN_OUT
from reviews.pages.wording.names import JOB_STATE_WORDS


def job_words(job: Job) -> str:
    """Name a job and say where it stands."""
    return f"{job.kind} {job.subject_id} ({JOB_STATE_WORDS[job.state]})"


def error_words(job: Job) -> str:
    """Say why a job was given up, or nothing; what computed it gave its own sentence, unless it killed the worker."""
    code, _, n = job.error.partition(WORN_OUT)
    if code or not n:
        return job.error
    return ngettext(
        "The worker stopped {n} time in the middle of this. An administrator finds the reason in its log.",
        "The worker stopped {n} times in the middle of this. An administrator finds the reason in its log.",
        int(n),
    ).format(n=n)
