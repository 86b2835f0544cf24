"""The names of the background jobs, and the only place that enqueues them.

`enqueue` is called inside the transaction of the deed that needs the work. It writes the row; in house
mode it also sends the row's id to Celery once the deed holds. The task is named, not imported: actions
need jobs and the functions that run jobs need actions.
"""

import logging
from datetime import datetime
from time import monotonic

from django.conf import settings
from django.db import DatabaseError, transaction
from django.utils import timezone

from reviews.models.jobs import MAIL_KINDS, Job

log = logging.getLogger(__name__)

CARRIER = "reviews.carry-job"

RENDITIONS = "renditions"  # subject: a picture; its screen sizes, tiles and facts
SMALL_PICTURE = "small-picture"  # subject: a picture read before there was a wall; its mini and its main colours
READ_ANEW = "read-anew"  # subject: a picture read before grids and spot plates were; what it shows, where that differs
COMPARE = "compare"  # subject: a pair of pictures; alignment, changes, carried notes
REFERENCE = "reference"  # subject: a reference of a brief; its screen sizes
PRINT_CHECK = "print-check"  # subject: an ink check; the inks of a picture at print size
PLATE_CHECK = "plate-check"  # subject: a plate check; a plate of a special finish, and its register on the art
SOFT_PROOF = "soft-proof"  # subject: a soft proof; a picture as a printing condition would print it
TEXT_GROUND = "text-ground"  # subject: a text ground; the art of a picture under the text placed on it
SEEN_PROOF = "seen-proof"  # subject: a seen proof; a photographed proof held against the final art
PROOF_SHEET = "proof-sheet"  # subject: a printer's picture read before its trim was looked for
DERIVE = "derive"  # subject: a derivation; sheets joined, or the ink of a scan alone
MAIL = "mail"  # subject: a notice; one mail to one person
LETTER_PAPER = "letter-paper"  # subject: a sent letter; its PDF with crops of the marked places
INVITATION = "invitation"  # subject: an invitation; the mail that carries its link
PASSWORD_LINK = "password-link"  # subject: a person; the mail that carries the link to a new password
FORECAST = "forecast"  # subject: a book; when it will be done, and whether its dates can still be met
TIME_STAMP = "time-stamp"  # subject: a ledger entry; the word of a service outside that it stood then
DIGEST = "digest"  # subject: a digest; one mail with everything that waited for one person
STORE_CHECK = "store-check"  # subject: a store check; a share of the stored pictures held against their rows
OPERATOR_MAIL = "operator-mail"  # subject: a person who runs this portal; one line a day when something is wrong

BROKER_REST_SECONDS = 10.0
_broker_away_until = 0.0

KINDS = frozenset(
    {
        RENDITIONS,
        SMALL_PICTURE,
        READ_ANEW,
        COMPARE,
        DERIVE,
        PLATE_CHECK,
        SOFT_PROOF,
        SEEN_PROOF,
        PROOF_SHEET,
        PRINT_CHECK,
        REFERENCE,
        TEXT_GROUND,
        MAIL,
        LETTER_PAPER,
        INVITATION,
        PASSWORD_LINK,
        FORECAST,
        TIME_STAMP,
        DIGEST,
        STORE_CHECK,
        OPERATOR_MAIL,
    }
)


def enqueue(kind: str, subject_id: int, *, key: str | None = None, run_after: datetime | None = None) -> Job:
    """Ask for a piece of work, once: the same `key` (by default kind and subject) finds the row there is.

    A finished job is not begun again. Work that must be done anew, for another version of a method say,
    has another key. Runs in the caller's transaction: 2 SQL statements, 1 where the row exists.
    """
    if kind not in KINDS:
        raise ValueError(f"No job is called “{kind}”; name it in reviews/jobs.py first.")
    now = timezone.now()
    # A job for later is left to the sweep: a delayed message would be held by one worker and lost with it.
    at_once = run_after is None or run_after <= now
    job, is_new = Job.objects.get_or_create(
        key=key or f"{kind}:{subject_id}",
        defaults={
            "kind": kind,
            "subject_id": subject_id,
            "created_at": now,
            "run_after": None if at_once else run_after,
            "paused_at": None if at_once else now,
        },
    )
    if is_new and at_once:
        transaction.on_commit(lambda: send_and_note(job.pk, kind))
    return job


def send_and_note(job_id: int, kind: str) -> None:
    """Send a job just asked for, and note that it went only where it did: the sweep sends what is not noted.

    A database that is gone by now undoes nothing: the deed holds, and the sweep sends a second, harmless copy.
    """
    if send(job_id, kind):
        try:
            Job.objects.filter(pk=job_id, sent_at=None).update(sent_at=timezone.now())
        except DatabaseError as problem:
            log.warning("Job %s went to the broker, which could not be noted: %s", job_id, problem)


def lane_of(kind: str) -> str:
    """Name the broker's queue of a kind of work: mails wait in their own."""
    return settings.JOB_MAIL_QUEUE if kind in MAIL_KINDS else settings.JOB_QUEUE


def send(job_id: int, kind: str) -> bool:
    """Hand the id to Celery in house mode; say whether it went. The embedded worker looks for itself.

    A broker that is away must not undo or delay the deed: the row stands, and the sweep sends it again.
    """
    global _broker_away_until
    if not settings.HOUSE or monotonic() < _broker_away_until:
        return False
    from celery import current_app

    try:
        current_app.signature(CARRIER, args=[job_id]).apply_async(retry=False, queue=lane_of(kind))
    except Exception as problem:  # kombu and redis raise from several unrelated families
        log.warning("Job %s could not be sent now, the sweep will: %s", job_id, problem)
        # A deed may ask for twenty jobs, and each would wait for a broker that does not answer.
        _broker_away_until = monotonic() + BROKER_REST_SECONDS
        return False
    return True
