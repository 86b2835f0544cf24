"""Where a person is signed in: seen, and ended. Personal, so no book's ledger tells of it."""

from __future__ import annotations

from django.db import transaction

from reviews.actions.clock import moment
from reviews.models import LiveSession, Person


def session_seen(session_key: str) -> None:
    """Write down that a session is in use."""
    LiveSession.objects.filter(session_key=session_key).update(seen_at=moment())


def end_session(person: Person, handle: str) -> bool:
    """End one of the person's own sessions, named as their page names it; say whether there was one."""
    with transaction.atomic(durable=True):
        for row in LiveSession.objects.filter(person=person):
            if row.handle == handle:
                row.delete()
                return True
    return False


def end_sessions(person: Person, *, but: str | None = None) -> int:
    """End all of a person's sessions but one, and count them."""
    with transaction.atomic():
        ended, _ = LiveSession.objects.filter(person=person).exclude(session_key=but or "").delete()
    return ended
