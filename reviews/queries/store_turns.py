"""Turns at the store: a store that accepts and is silent may hold a few of a process's threads, never all of them.

Pages need no store, but share their threads with the pictures on them: eight thumbnails asked of a silent store would
keep everybody else's sign-in waiting. So where one answer is overdue, others are refused at once until it came or
failed; and never more than most of the threads are at the store at one time.
"""

from __future__ import annotations

import itertools
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from time import monotonic

from django.conf import settings

OVERDUE_SECONDS = 3.0
# A store just found silent is asked again after this, not by each thumbnail of each page meanwhile.
REST_SECONDS = 5.0


class StoreSilent(OSError):
    """The store owes an answer already; another question would only hold another thread."""


_lock = threading.Lock()
_asked: dict[int, float] = {}
_numbers = itertools.count()
_rests_until = 0.0


@contextmanager
def store_turn() -> Iterator[None]:
    """Ask the store something inside; raise StoreSilent where it is silent now, or all turns are taken."""
    global _rests_until
    number, now = next(_numbers), monotonic()
    with _lock:
        is_overdue = any(now - since > OVERDUE_SECONDS for since in _asked.values())
        if is_overdue or now < _rests_until or len(_asked) >= settings.STORE_TURNS:
            raise StoreSilent("The store has not answered what it was asked before.")
        _asked[number] = now
    try:
        yield
    finally:
        with _lock:
            del _asked[number]
            if monotonic() - now > OVERDUE_SECONDS:
                _rests_until = monotonic() + REST_SECONDS
