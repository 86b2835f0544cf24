"""Telling an outage from a fault of ours: something on another machine, or room on the disk, that may come back.

What is told apart here decides three things: whether work is tried again for days, whether a page says “not now”
instead of “our fault”, and whether the log has one line or a traceback.
"""

from __future__ import annotations

import errno
import smtplib
from enum import Enum

from django.db import InterfaceError, OperationalError

from reviews.queries.store_turns import StoreSilent

# Named, not imported: the embedded mode never loads the libraries of the house.
_STORE_LIBRARIES = ("botocore", "boto3", "s3transfer", "urllib3")
_BROKER_LIBRARIES = ("redis", "kombu", "amqp", "celery")
_NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
# What the store answers when asking again would be answered the same.
_STORE_NEVER = {400, 405, 411, 412, 413, 416}


class Away(Enum):
    """What is away."""

    DATABASE = "database"
    STORE = "store"
    BROKER = "broker"
    MAIL = "mail"
    ROOM = "room"
    FILES = "files"


def what_is_away(problem: BaseException) -> Away | None:
    """Say what an exception tells to be away for now; None where it is a fault that trying again will not mend."""
    if isinstance(problem, OperationalError | InterfaceError):
        return Away.DATABASE
    if isinstance(problem, StoreSilent):
        return Away.STORE
    libraries = {kind.__module__.partition(".")[0] for kind in type(problem).__mro__}
    if libraries & set(_STORE_LIBRARIES):
        return None if _status_of(problem) in _STORE_NEVER else Away.STORE
    if libraries & set(_BROKER_LIBRARIES):
        return Away.BROKER
    if isinstance(problem, smtplib.SMTPException):
        return Away.MAIL
    if isinstance(problem, OSError):
        return Away.ROOM if problem.errno in _NO_ROOM else Away.FILES
    return None


def mail_refused_for_good(problem: BaseException) -> str:
    """Give the mail server's own words where it refused a mail for good; nothing where it may take it later.

    For good is what RFC 5321 says so: a code of 5yz to the recipient or to the words. A refused sender or sign-in is
    the operator's to mend, and then the same mail goes.
    """
    if isinstance(problem, smtplib.SMTPRecipientsRefused):
        answers = list(problem.recipients.values())
        if answers and all(500 <= code < 600 for code, _ in answers):
            return _words(answers[0][1])
    if isinstance(problem, smtplib.SMTPDataError) and 500 <= problem.smtp_code < 600:
        return _words(problem.smtp_error)
    return ""


def _words(said: bytes | str) -> str:
    words = said.decode("utf-8", "replace") if isinstance(said, bytes) else str(said)
    return " ".join(words.split())[:200] or "no reason given"


def _status_of(problem: BaseException) -> int:
    answer = getattr(problem, "response", None)
    return answer.get("ResponseMetadata", {}).get("HTTPStatusCode", 0) if isinstance(answer, dict) else 0
