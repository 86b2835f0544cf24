"""The embedded worker: threads that take jobs from the database itself. No broker, nothing to lose in one.

Threads suffice, as heavy work on pictures happens in child processes and in libraries that let other
threads run. One worker per data folder, held by a file lock that the system drops however the worker dies;
so whatever is marked as running when a worker starts was left by a dead one and goes back at once.
"""

import fcntl
import logging
import os
import shutil
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.db import connection

from reviews.actions.jobs import claim_next, release_all_leases, requeue_abandoned
from reviews.tasks.morning import look_around
from reviews.tasks.runner import carry_out

log = logging.getLogger(__name__)

POLL_SECONDS = 0.15
PATIENCE_SECONDS = 10.0


class AlreadyWorking(Exception):
    """Another worker has this data folder."""


@contextmanager
def only_worker(data: Path) -> Iterator[None]:
    """Hold the folder's worker lock, or raise AlreadyWorking."""
    with (data / "worker.lock").open("a") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise AlreadyWorking(f"A worker is already at work on {data}; one is enough.") from None
        with _own_scratch(data / "scratch"):
            yield


@contextmanager
def _own_scratch(folder: Path) -> Iterator[None]:
    """Keep half-made pictures in a folder of our own, emptied first: a killed worker cannot clear up after itself."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    before, tempfile.tempdir = tempfile.tempdir, str(folder)
    try:
        yield
    finally:
        tempfile.tempdir = before


def work(stop: threading.Event, *, slots: int) -> None:
    """Do jobs until told to stop, then let the running ones finish for a while."""
    release_all_leases()
    threads = [
        threading.Thread(target=_slot, args=(stop, mail), name=name, daemon=True) for name, mail in _slots(slots)
    ]
    for thread in threads:
        thread.start()
    _quietly(lambda: look_around("worker"))
    while not stop.wait(settings.JOB_LEASE_SECONDS / 2):
        _quietly(requeue_abandoned)
        _quietly(lambda: look_around("worker"))
    for thread in threads:
        thread.join(PATIENCE_SECONDS / len(threads))
    if any(thread.is_alive() for thread in threads):
        # What still runs keeps its row and is begun again by the next worker.
        log.warning("Stopping in the middle of a job; it will be begun again.")
        os._exit(0)


def work_until_idle(*, slots: int) -> None:
    """Do every job that is ready, here and now, and what those jobs ask for; nothing runs on after.

    The morning's mail is put together first, so that a worker which is started once a day sends what is due.
    """
    release_all_leases()
    look_around("worker")
    threads = [threading.Thread(target=_slot_until_idle, name=name) for name, _ in _slots(slots)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def _slots(n_slots: int) -> list[tuple[str, bool]]:
    """Name the threads, and say which does mail: one, beside the rest, so that neither ever waits for the other."""
    return [(f"slot-{n}", False) for n in range(n_slots)] + [("mail-slot", True)]


def _slot(stop: threading.Event, mail: bool) -> None:
    try:
        while not stop.is_set():
            if not _quietly(lambda: _do_one(mail)):
                stop.wait(POLL_SECONDS)
    finally:
        connection.close()


def _slot_until_idle() -> None:
    try:
        while _do_one():
            pass
    finally:
        connection.close()


def _do_one(mail: bool | None = None) -> bool:
    claim = claim_next(mail=mail)
    if claim is None:
        return False
    carry_out(claim)
    return True


def _quietly(step: Callable[[], object]) -> object:
    """Take one step of the loop; a database that is away for a moment must not end the worker."""
    try:
        return step()
    except Exception as problem:
        log.warning("The worker could not reach its jobs and goes on trying: %s", problem)
        connection.close()
        return None
