"""What many tests set up alike, made once by real deeds and then put back as rows.

A set-up of a second or more is nothing beside one test and much beside a thousand. It is put back only where that
cannot be told from making it: in a transaction of its own on tables that hold nothing, at a moment within seconds
of when it was made, with what it asked to happen after its commit.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import wraps
from typing import Any

from django.apps import apps
from django.db import connection, transaction

from reviews.actions.clock import moment

FRESH = timedelta(seconds=5)
_FILLED_BY_MIGRATIONS = {"django_content_type", "django_migrations", "auth_permission"}


@dataclass(frozen=True)
class _Kept:
    at: datetime
    result: Any
    rows: dict[str, list[tuple]]
    after_commit: list[tuple[Callable[[], Any], bool]]


_kept: dict[str, _Kept] = {}


def made_once(key: str, make: Callable[[], Any]) -> Any:
    """Return what `make` returns, its rows in the tables, making it only if nothing of the same key is fresh."""
    if not _may_be_put_back():
        return make()
    now = moment()
    known = _kept.get(key)
    if known is None or not timedelta(0) <= now - known.at < FRESH:
        n_before = len(connection.run_on_commit)
        result = make()
        after = [(call, robust) for _, call, robust in connection.run_on_commit[n_before:]]
        _kept[key] = _Kept(now, copy.deepcopy(result), _all_rows(), after)
        return result
    _put_back(known.rows)
    for call, robust in known.after_commit:
        transaction.on_commit(call, robust=robust)
    return copy.deepcopy(known.result)


def scene(make: Callable[[], Any]) -> Callable[[], Any]:
    """Let what a function sets up be made once in a while: for a fixture that many tests of a file begin with."""

    @wraps(make)
    def put() -> Any:
        return made_once(f"{make.__module__}.{make.__qualname__}", make)

    return put


def _tables() -> list[str]:
    tables = {model._meta.db_table for model in apps.get_models(include_auto_created=True)}
    return sorted(tables - _FILLED_BY_MIGRATIONS)


def _may_be_put_back() -> bool:
    if connection.vendor != "sqlite" or not connection.in_atomic_block:
        return False
    return not any(connection.connection.execute(f'SELECT 1 FROM "{name}" LIMIT 1').fetchone() for name in _tables())


def _all_rows() -> dict[str, list[tuple]]:
    rows = {name: connection.connection.execute(_as_stored(name)).fetchall() for name in _tables()}
    return {name: found for name, found in rows.items() if found}


def _as_stored(name: str) -> str:
    """Select a table's columns as expressions: of those SQLite tells no type, so nothing is turned into Python's."""
    columns = connection.connection.execute(f'PRAGMA table_info("{name}")').fetchall()
    return "SELECT " + ", ".join(f'+"{column[1]}"' for column in columns) + f' FROM "{name}"'


def _put_back(rows: dict[str, list[tuple]]) -> None:
    for name, found in rows.items():
        places = ", ".join("?" * len(found[0]))
        connection.connection.executemany(f'INSERT INTO "{name}" VALUES ({places})', found)
