"""Where a piece of work stands, and why it was not done, in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext, gettext_lazy

from reviews.models import Job
from reviews.models.jobs import JobState
from reviews.pages.wording.coded import Sentence, Values, said, split
from reviews.pages.wording.names import JOB_STATE_WORDS
from reviews.queries.outages import Away

_AWAY: Mapping[str, Any] = {
    Away.DATABASE.value: gettext_lazy("The database does not answer now."),
    Away.STORE.value: gettext_lazy("The store of the pictures does not answer now."),
    Away.BROKER.value: gettext_lazy("The hand-over between our own processes does not answer now."),
    Away.MAIL.value: gettext_lazy("The mail server does not take mail now."),
    Away.ROOM.value: gettext_lazy("There is no room on the disk now."),
    Away.FILES.value: gettext_lazy("A file or a machine that this needs cannot be reached now."),
}


def _is_away(values: Values) -> str:
    return gettext("{what} This did not work yet and will be tried again.").format(what=_AWAY[values["what"]])


def _stayed_away(values: Values) -> str:
    return gettext("{what} It was tried for three days and then given up; nothing is wrong with what you sent.").format(
        what=_AWAY[values["what"]]
    )


_ERRORS: dict[str, Sentence] = {
    "trying-again": gettext_lazy("This did not work yet and will be tried again."),
    "gave-up": gettext_lazy(
        "This failed {n} times and was given up. An administrator finds the reason in the worker's log."
    ),
    "worn-out": gettext_lazy(
        "The worker stopped {n} times in the middle of this. An administrator finds the reason in its log."
    ),
    "is-away": _is_away,
    "stayed-away": _stayed_away,
    "mail-refused": gettext_lazy("The mail server refused this mail for good: “{words}”. Check the address."),
    "stamp-service-elsewhere": gettext_lazy(
        "The time stamp service sends its callers elsewhere; name the place itself as TIMESTAMP_URL."
    ),
    "no-stamp-service": gettext_lazy("No time stamp service is configured any more."),
    "unknown-kind": gettext_lazy(
        "This Roughproof does not know how to do “{kind}”; a newer one may have asked for it."
    ),
}


def error_sentence(error: Mapping[str, Any]) -> str:
    """Say why a job failed or is tried again, ``{"code": "gave-up", "n": 5}``; nothing where nothing went wrong."""
    return said(_ERRORS, *split(error)) if error else ""


def away_sentence(away: Away) -> str:
    """Say what is away, for a log."""
    return str(_AWAY[away.value])


def job_words(job: Job) -> str:
    """Name a job and say where it stands."""
    return f"{job.kind} {job.subject_id} ({JOB_STATE_WORDS[JobState(job.state)]})"
