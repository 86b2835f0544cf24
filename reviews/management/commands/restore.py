"""`manage.py restore FILE`: a backup put back into an empty installation, every byte checked on the way."""

from __future__ import annotations

import fcntl
import tempfile
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import IO

from botocore.exceptions import BotoCoreError, ClientError
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from reviews import storage
from reviews.actions.restoring import (
    has_tables,
    holds_work,
    load_tables,
    make_tables,
    migrated_to,
    replace_sqlite,
    unknown_migrations,
)
from reviews.durable import name_files
from reviews.management.archive import BLOCK, ArchiveReader, BadArchive, MemberFile, opened_archive
from reviews.management.backups import (
    FORMAT,
    KEY,
    MAIL,
    MODE_WORDS,
    PICTURES,
    counted,
    hash_named_by,
    is_a_name,
    key_mark,
)
from reviews.queries.snapshots import DATABASE, DamagedDatabase
from reviews.queries.stored import all_names


class Command(BaseCommand):
    help = (
        "Put a backup back into an installation that holds nothing yet: a new data folder, or a database without "
        "tables and an empty bucket. Every file is held against its SHA-256; where one is wrong, nothing is put back."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.tar", help="what `backup` wrote")
        parser.add_argument("--data", metavar="DIR", help="the new data folder (embedded mode)")

    def handle(self, *, file: Path, **options: object) -> None:
        try:
            with ExitStack() as held:
                held.enter_context(_nobody_else())
                self.refuse_what_is_not_empty()
                scratch = Path(held.enter_context(_scratch()))
                archive = held.enter_context(opened_archive(file, scratch))
                self.check_head(archive.head, file)
                n_files = self.put_back(archive, scratch)
        except BadArchive as problem:
            raise CommandError(f"{file} was not put back: {problem}. Try another backup.") from None
        except DamagedDatabase as problem:
            raise CommandError(f"{file} was not put back: its database is damaged ({problem}).") from None
        except (OSError, DatabaseError, BotoCoreError, ClientError) as problem:
            raise CommandError(f"{file} was not put back: {problem}", returncode=2) from problem
        call_command("migrate", verbosity=0, interactive=False)
        self.stdout.write(
            f"{file} of {archive.head['made_at']}: the database and {counted(n_files, 'stored file')} are back, each "
            "as it was when the backup was made. verify_ledger and verify_pictures check what they say."
        )
        self.about_the_key(archive.head)

    def refuse_what_is_not_empty(self) -> None:
        """Never mix a backup with somebody's work."""
        where = "This database" if settings.HOUSE else str(settings.DATA_DIR)
        if holds_work():
            raise CommandError(
                f"{where} holds accounts or books already. A backup is put back into an empty installation only: "
                + ("name another database and bucket." if settings.HOUSE else "name a new folder with --data DIR.")
            )
        if (name := next(all_names(), None)) is not None:
            raise CommandError(
                f"There are stored files here already ({name}). A backup is put back into an empty installation only: "
                + ("name another bucket." if settings.HOUSE else "name a new folder with --data DIR.")
            )

    def check_head(self, head: dict, file: Path) -> None:
        """Refuse a backup that this installation cannot take, before anything is written."""
        if head.get("roughproof_backup") != FORMAT:
            raise CommandError(f"{file} was written by a newer Roughproof. Restore it with that version.")
        if head["mode"] != settings.MODE:
            raise CommandError(
                f"{file} is of the {MODE_WORDS[head['mode']]}, and this is the {MODE_WORDS[settings.MODE]}: "
                "a backup goes back into the same mode."
            )
        migrations = [tuple(each) for each in head["migrations"]]
        if unknown := unknown_migrations(migrations):
            raise CommandError(
                f"{file} was made by a newer Roughproof ({unknown[-1][1]}). Restore it with that version."
            )
        if settings.HOUSE and has_tables() and migrated_to() != sorted(migrations):
            raise CommandError(
                "The tables here are not of the version that made the backup. Name a database without tables; "
                "they are made as they were, filled, and then brought up to date."
            )

    def put_back(self, archive: ArchiveReader, scratch: Path) -> int:
        """Put everything in place, the rows last; where anything is wrong, take away what was put."""
        rows: dict[str, Path] = {}
        try:
            with (scratch / "put").open("w+", encoding="utf-8") as placed:
                for name, file in archive.members():
                    if not is_a_name(name):
                        raise BadArchive(f"it holds {name}, which no backup has")
                    if name.startswith(PICTURES):
                        placed.write(name + "\n")
                        self.put_picture(name.removeprefix(PICTURES), file, scratch)
                    else:
                        rows[name] = scratch / f"row-{len(rows)}"
                        _write(file, rows[name])
                n_files = _n_lines(placed)
            self.put_rows(rows, archive.head)
        except BaseException:
            self.take_away(scratch / "put")
            raise
        return n_files

    def put_picture(self, name: str, file: MemberFile, scratch: Path) -> None:
        """Check one stored file against the hash in its name, where it has one, and keep it."""
        arrived = scratch / "arrived"
        _write(file, arrived)
        promised = hash_named_by(name)
        if promised and promised != file.sha256:
            raise BadArchive(f"{name} is not what its name says")
        storage.keep_restored(arrived, name)

    def put_rows(self, rows: dict[str, Path], head: dict) -> None:
        """Put the database back, in one step; what lies beside it first."""
        if settings.HOUSE:
            if not has_tables():
                make_tables([tuple(each) for each in head["migrations"]])
            tables = {name.removeprefix("tables/").removesuffix(".copy"): path for name, path in rows.items()}
            load_tables(tables, head["columns"])
            return
        for name in (KEY, DATABASE):
            if name not in rows:
                raise BadArchive(f"{name} is missing in it")
        mails = Path(settings.EMAIL_FILE_PATH)
        beside = [(path, mails / name.removeprefix(MAIL)) for name, path in rows.items() if name.startswith(MAIL)]
        name_files([*beside, (rows[KEY], settings.DATA_DIR / KEY)])
        replace_sqlite(rows[DATABASE])

    def take_away(self, placed: Path) -> None:
        """Leave the store as empty as it was found."""
        with placed.open(encoding="utf-8") as names:
            for name in names:
                storage.remove(name.strip().removeprefix(PICTURES))

    def about_the_key(self, head: dict) -> None:
        """Say what another secret key means."""
        if settings.HOUSE and head["key_mark"] != key_mark(settings.SECRET_KEY):
            self.stdout.write(
                "SECRET_KEY is another than the backup was made under: everybody signs in anew, and links in mails "
                "that were sent before (invitations, calendars) do not open. Set the old one if you have it."
            )


def _write(file: MemberFile, path: Path) -> None:
    with path.open("wb") as out:
        path.chmod(0o600)  # a database, a key
        while block := file.read(BLOCK):
            out.write(block)


def _n_lines(file: IO[str]) -> int:
    file.seek(0)
    return sum(1 for _ in file)


@contextmanager
def _scratch() -> Iterator[str]:
    """Give a folder for what is checked before it is put in place: on the data folder's disk, where there is one."""
    where = None if settings.HOUSE else settings.DATA_DIR
    with tempfile.TemporaryDirectory(prefix=".restoring-", dir=where) as folder:
        yield folder


@contextmanager
def _nobody_else() -> Iterator[None]:
    """Hold the data folder of the embedded mode: nobody serves it, and no worker is at work on it, meanwhile."""
    if settings.HOUSE:
        yield
        return
    with ExitStack() as held:
        for name in ("serve.lock", "worker.lock"):
            lock = held.enter_context((settings.DATA_DIR / name).open("a"))
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                words = f"{settings.DATA_DIR} is in use. Stop Roughproof there, or name a new folder."
                raise CommandError(words) from None
        yield
