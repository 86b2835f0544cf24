"""Put a snapshot of the database back into an installation that holds nobody's work."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.core.management.color import no_style
from django.db import connection, connections, transaction
from django.db.backends.utils import CursorWrapper
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from psycopg import sql

from reviews.durable import flush_folder, name_files
from reviews.models import Book, Person
from reviews.queries.snapshots import DamagedDatabase

Migrated = list[tuple[str, str]]


def has_tables() -> bool:
    """Say whether anything was ever set up here."""
    return bool(connection.introspection.table_names())


def holds_work() -> bool:
    """Say whether anybody has an account or a book here."""
    tables = connection.introspection.table_names()
    return any(model._meta.db_table in tables and model.objects.exists() for model in (Person, Book))


def migrated_to() -> Migrated:
    """List what the tables here were migrated to."""
    return sorted(MigrationRecorder(connection).applied_migrations())


def unknown_migrations(migrations: Migrated) -> Migrated:
    """List the migrations that this version does not know: they were made by a newer one."""
    known = MigrationExecutor(connection).loader.disk_migrations
    return [each for each in migrations if each not in known]


def replace_sqlite(fresh: Path) -> None:
    """Put a database file in the place of the empty one, in one step; raises DamagedDatabase where it is not sound."""
    with sqlite3.connect(fresh) as copy:
        verdict = copy.execute("PRAGMA integrity_check(1)").fetchone()[0]
    copy.close()
    if verdict != "ok":
        raise DamagedDatabase(str(verdict))
    target = Path(settings.DATABASES["default"]["NAME"])
    connections.close_all()
    for beside in ("-wal", "-shm"):  # of the empty one: they would be taken for the new one's
        target.with_name(target.name + beside).unlink(missing_ok=True)
    flush_folder(target.parent)
    name_files([(fresh, target)])


def make_tables(migrations: Migrated) -> None:
    """Make the tables as they were when a snapshot was taken, without any rows of their own."""
    executor = MigrationExecutor(connection)
    taken = set(migrations)
    children = executor.loader.graph.node_map
    leaves = [
        each
        for each in migrations
        if not any(child.key in taken and child.key[0] == each[0] for child in children[each].children)
    ]
    executor.migrate(leaves)


def load_tables(files: Mapping[str, Path], columns: Mapping[str, Sequence[str]]) -> None:
    """Fill the empty tables from a snapshot's files, all of them or none."""
    with transaction.atomic(durable=True):
        with connection.cursor() as cursor:
            for table in connection.introspection.table_names(cursor):
                if table != "django_migrations":
                    _empty(cursor, table)
        for table, path in files.items():
            _load_table(table, columns[table], path)
        with connection.cursor() as cursor:
            for statement in connection.ops.sequence_reset_sql(no_style(), apps.get_models(include_auto_created=True)):
                cursor.execute(statement)


def _empty(cursor: CursorWrapper, table: str) -> None:
    # Only what migrating itself wrote, such as Django's list of tables: nobody's work is here, or we would not be.
    cursor.execute(sql.SQL("DELETE FROM {}").format(sql.Identifier(table)))


def _load_table(table: str, columns: Sequence[str], path: Path) -> None:
    names = sql.SQL(", ").join(map(sql.Identifier, columns))
    query = sql.SQL("COPY {} ({}) FROM STDIN").format(sql.Identifier(table), names)
    with connection.connection.cursor() as cursor, path.open("rb") as file, cursor.copy(query) as rows:
        while block := file.read(1 << 20):
            rows.write(block)
