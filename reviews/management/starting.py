"""What every process looks at before it starts: a folder it can write, a database that is whole, its own tables.

Each trouble is a sentence at the start, instead of a 500 on every page afterwards.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import monotonic, sleep

from django.conf import settings
from django.db import DatabaseError, InterfaceError, OperationalError, connection

from reviews.queries.schema import schema_now

WAIT_SECONDS = 90.0
PAUSE_SECONDS = 1.0
GUNICORN_BOOT_FAILED = 3
NEWER = (
    "The database was written by a newer Roughproof: it has {names}, which this version does not know. "
    "Start the newer version again, or restore a backup made before it."
)
OLDER = "The tables are older than this version: {names} is still to be applied. {what_to_do}"
DAMAGED = "The database {path} is damaged: {words}. Stop, keep a copy of the folder, and restore your last backup."
NOT_WRITABLE = "The database {path} cannot be written: {words}. Give this user the right to write, or free some room."


class CannotBegin(Exception):
    """Roughproof must not start; the words say why and what to do."""


def check_folder() -> None:
    """Refuse a data folder that is not there or cannot be written, and a database that is damaged (embedded mode)."""
    data = Path(settings.DATA_DIR)
    if not data.is_dir():
        raise CannotBegin(f"There is no data folder {data}. `manage.py serve --data {data}` makes one.")
    for folder in (data, *(data / name for name in settings.DATA_SUBFOLDERS)):
        try:
            with tempfile.NamedTemporaryFile(dir=folder, prefix=".written-"):
                pass
        except OSError as problem:
            raise CannotBegin(
                f"Roughproof cannot write in {folder}: {problem.strerror}. Give this user the right, free some room, "
                "or name another folder with --data DIR."
            ) from None
    check_database()


def check_database() -> None:
    """Refuse a SQLite file that is damaged or cannot be written; one that is not there yet is fine."""
    path = Path(settings.DATABASES["default"]["NAME"])
    if not path.exists():
        return
    if not os.access(path, os.W_OK):
        raise CannotBegin(NOT_WRITABLE.format(path=path, words="its rights forbid it"))
    try:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA quick_check(1)")
            words = str(cursor.fetchone()[0])
            if words != "ok":
                raise CannotBegin(DAMAGED.format(path=path, words=" ".join(words.split())[:200]))
            cursor.execute("BEGIN IMMEDIATE")
            cursor.execute("ROLLBACK")
    except OperationalError as problem:
        raise CannotBegin(NOT_WRITABLE.format(path=path, words=problem)) from None
    except DatabaseError as problem:
        raise CannotBegin(DAMAGED.format(path=path, words=problem)) from None
    finally:
        connection.close()


def refuse_newer() -> None:
    """Refuse a database that a newer version has changed: an older one would write into tables it does not know."""
    unknown = schema_now().unknown
    if unknown:
        raise CannotBegin(NEWER.format(names=", ".join(unknown)))


def check_tables(what_to_do: str) -> None:
    """Refuse tables that are newer or older than this version."""
    found = schema_now()
    if found.unknown:
        raise CannotBegin(NEWER.format(names=", ".join(found.unknown)))
    if found.missing:
        raise CannotBegin(OLDER.format(names=found.missing[0], what_to_do=what_to_do))


def wait_for_tables(say: Callable[[str], object], *, seconds: float = WAIT_SECONDS) -> None:
    """Wait for the database and its migration, as processes that start together must; refuse a newer one at once."""
    deadline = monotonic() + seconds
    told = ""
    while True:
        try:
            found = schema_now()
            if found.unknown:
                raise CannotBegin(NEWER.format(names=", ".join(found.unknown)))
            if not found.missing:
                return
            words = OLDER.format(names=found.missing[0], what_to_do="Run `manage.py migrate`.")
        except (OperationalError, InterfaceError) as problem:
            words = f"The database does not answer: {' '.join(str(problem).split())}."
        finally:
            connection.close()
        if monotonic() >= deadline:
            raise CannotBegin(words)
        if words != told:
            say(f"Waiting. {words}")
            told = words
        sleep(PAUSE_SECONDS)


def begin_when_ready(say: Callable[[str], object]) -> None:
    """Wait for the tables in a process that others start (gunicorn, Celery); end it in words where they do not come."""
    try:
        wait_for_tables(say, seconds=settings.START_PATIENCE_SECONDS)
    except CannotBegin as problem:
        say(f"Roughproof cannot start: {problem}")
        # By this code gunicorn knows that starting its worker again would help nothing, and ends as well.
        raise SystemExit(GUNICORN_BOOT_FAILED) from None
