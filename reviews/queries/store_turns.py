"""Turns at the store: a store that accepts and is silent may hold a few of a process's threads, never all of them.

Pages need no store, but share their threads with the pictures on them: eight thumbnails asked of a silent store would
keep everybody else's sign-in waiting. So where one answer is overdue, others are refused at once until it came or
failed; and never more than most of the threads are at the store at one time. A whole file that is brought or fetched
may take as long as a slow store needs for its size, so it is overdue later; of those there are fewer at a time.
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
# A store that is working passes on at least this much; one that is slower holds no more than the turns of whole files.
SLOWEST_BYTES_A_SECOND = 1_000_000


class StoreSilent(OSError):
    """The store owes an answer already; another question would only hold another thread."""


_lock = threading.Lock()
_overdue_at: dict[int, float] = {}
_whole_files: set[int] = set()
_numbers = itertools.count()
_rests_until = 0.0


@contextmanager
def store_turn(n_bytes: int | None = None) -> Iterator[None]:
    """Ask the store something inside; raise StoreSilent where it is silent now, or all turns are taken.

    ``n_bytes`` is the size of a whole file that is brought or fetched; without it the question is a small one.
    """
    global _rests_until
    number, now = next(_numbers), monotonic()
    overdue_at = now + OVERDUE_SECONDS + (n_bytes or 0) / SLOWEST_BYTES_A_SECOND
    with _lock:
        is_overdue = any(now > moment for moment in _overdue_at.values())
        if is_overdue or now < _rests_until or len(_overdue_at) >= settings.STORE_TURNS:
            raise StoreSilent("The store has not answered what it was asked before.")
        if n_bytes is not None and len(_whole_files) >= settings.STORE_TURNS_FOR_FILES:
            raise StoreSilent("As many files as may be are on their way to or from the store.")
        _overdue_at[number] = overdue_at
        if n_bytes is not None:
            _whole_files.add(number)
    try:
        yield
    finally:
        with _lock:
            del _overdue_at[number]
            _whole_files.discard(number)
            if monotonic() > overdue_at:
                _rests_until = monotonic() + REST_SECONDS
