"""The embedded mode's mails are files that nobody takes away: the night removes those that have served."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime, timedelta
from email import message_from_bytes
from pathlib import Path

from django.conf import settings

from reviews.models import Invitation
from reviews.tasks.morning import clock_holds

#: What Django's own files put after each mail.
_END_OF_MAIL = b"\n" + b"-" * 79 + b"\n"
_SECRET = re.compile(rb"\b\d{1,18}-[0-9a-f]{64}\b")


def clear_old_mails(now: datetime) -> int:
    """Remove mails older than the settings say; say how many files went.

    A mail with the link of an invitation that can still be taken stays, however old: its link stands nowhere else.
    Nothing goes on a clock that jumped (1 query).
    """
    folder, days = getattr(settings, "EMAIL_FILE_PATH", None), settings.MAIL_DAYS
    if not folder or not days or not clock_holds(now):
        return 0
    before = (now - timedelta(days=days)).timestamp()
    old = [path for path in Path(folder).glob("*.log") if path.is_file() and path.stat().st_mtime < before]
    wanted = _open_secrets(now) if old else set()
    served = [path for path in old if not wanted & set(_secrets_in(path.read_bytes()))]
    for path in served:
        path.unlink(missing_ok=True)
    return len(served)


def _open_secrets(now: datetime) -> set[bytes]:
    rows = Invitation.objects.filter(used_at=None, revoked_at=None, expires_at__gt=now)
    return {invitation.secret.encode() for invitation in rows}


def _secrets_in(written: bytes) -> Iterator[bytes]:
    """List what could be a secret in the words of each mail of a file, however these are encoded."""
    for mail in written.split(_END_OF_MAIL):
        for part in message_from_bytes(mail).walk():
            if not part.is_multipart():
                yield from _SECRET.findall(bytes(part.get_payload(decode=True) or b""))
