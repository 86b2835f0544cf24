"""The moment at which a deed happens: now, or the moment a told story gives it.

Only the demo tells stories; an architecture test holds everything else to the real clock.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import datetime

from django.utils import timezone

_told: ContextVar[datetime | None] = ContextVar("told_moment", default=None)


def moment() -> datetime:
    """Give the moment that deeds are written down with."""
    return _told.get() or timezone.now()


@contextmanager
def as_if_at(at: datetime) -> Iterator[None]:
    """Let the deeds inside happen at a given moment."""
    token = _told.set(at)
    try:
        yield
    finally:
        _told.reset(token)
