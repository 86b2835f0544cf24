"""The whole database at one moment, written to files while everybody goes on working.

Embedded: SQLite's own online backup, in one step, so that no writer makes it begin again. House: every table by COPY in
one REPEATABLE READ transaction; that needs no program of the database's version on this machine, as a dump would, and
comes back into the same tables of any PostgreSQL.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings
from django.db import connection, transaction
from psycopg import sql

DATABASE = "database.sqlite3"
_MIGRATIONS = "SELECT app, name FROM django_migrations ORDER BY app, name"
# In bytes' order, whatever the database takes for an alphabet.
_CONTENTS = "SELECT DISTINCT sha256 COLLATE {} AS sha256 FROM reviews_picture ORDER BY 1"
_NOT_COPIED = {"django_migrations"}


@dataclass
class Snapshot:
    """Files that hold the database, what they were migrated to, and every content that a picture names."""

    files: dict[str, Path] = field(default_factory=dict)
    columns: dict[str, list[str]] = field(default_factory=dict)
    migrations: list[tuple[str, str]] = field(default_factory=list)
    contents: Path = Path()

    def missing_from(self, names: Iterable[str]) -> Iterator[str]:
        """Give each content that a picture names and that is not among these hashes, both in order of the alphabet."""
        with self.contents.open(encoding="ascii") as lines:
            there = iter(names)
            name = next(there, None)
            for sha256 in (line.strip() for line in lines):
                while name is not None and name < sha256:
                    name = next(there, None)
                if name != sha256:
                    yield sha256


class DamagedDatabase(Exception):
    """The database's own check of itself failed; the words are its first complaint."""


def take_snapshot(folder: Path) -> Snapshot:
    """Write the database as it is now into files of an empty folder."""
    found = Snapshot(contents=folder / "contents")
    if settings.HOUSE:
        _copy_tables(found, folder)
    else:
        _copy_sqlite(found, folder / DATABASE)
    return found


def _copy_sqlite(found: Snapshot, target: Path) -> None:
    # Not read-only: such a reader cannot open a database in WAL mode that nobody else has open.
    source = sqlite3.connect(f"{Path(settings.DATABASES['default']['NAME']).absolute().as_uri()}?mode=rw", uri=True)
    copy = sqlite3.connect(target)
    try:
        source.backup(copy)
        if (verdict := copy.execute("PRAGMA integrity_check(1)").fetchone()[0]) != "ok":
            raise DamagedDatabase(str(verdict))
        copy.execute("PRAGMA journal_mode=DELETE")  # one file, and nothing beside it
        found.migrations = list(copy.execute(_MIGRATIONS))
        _write_contents(found.contents, (row[0] for row in copy.execute(_CONTENTS.format("BINARY"))))
    finally:
        copy.close()
        source.close()
    found.files[DATABASE] = target


def _copy_tables(found: Snapshot, folder: Path) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
        tables = sorted(set(connection.introspection.table_names(cursor)) - _NOT_COPIED)
        for table in tables:
            columns = [one.name for one in connection.introspection.get_table_description(cursor, table)]
            name = f"tables/{table}.copy"
            found.columns[table], found.files[name] = columns, folder / f"{table}.copy"
            _copy_table(table, columns, found.files[name])
        cursor.execute(_MIGRATIONS)
        found.migrations = list(cursor.fetchall())
        with connection.connection.cursor("contents") as rows:
            rows.execute(_CONTENTS.format('"C"'))
            _write_contents(found.contents, (row[0] for row in rows))


def _copy_table(table: str, columns: list[str], target: Path) -> None:
    names = sql.SQL(", ").join(map(sql.Identifier, columns))
    # The oldest first, as it was written: a table that looks at what came before takes it back in that order.
    query = sql.SQL("COPY (SELECT {} FROM {} ORDER BY 1) TO STDOUT").format(names, sql.Identifier(table))
    with connection.connection.cursor() as cursor, target.open("wb") as out, cursor.copy(query) as rows:
        for block in rows:
            out.write(block)


def _write_contents(path: Path, contents: Iterator[str]) -> None:
    with path.open("w", encoding="ascii") as out:
        out.writelines(f"{sha256}\n" for sha256 in contents)
