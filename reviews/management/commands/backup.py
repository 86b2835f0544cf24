"""`manage.py backup FILE`: everything in one file, while everybody goes on working."""

from __future__ import annotations

import tempfile
from argparse import ArgumentParser
from pathlib import Path

from botocore.exceptions import BotoCoreError, ClientError
from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from reviews import storage
from reviews.management.archive import ArchiveWriter, new_archive
from reviews.management.backups import KEY, MAIL, PICTURES, counted, hash_named_by, head_of, is_a_name
from reviews.queries.snapshots import DamagedDatabase, Snapshot, take_snapshot
from reviews.queries.stored import all_names


class Command(BaseCommand):
    help = (
        "Write the database, the pictures, the letters' PDFs and (embedded mode) the mails and the secret key into one "
        "file, consistent, while Roughproof runs. Ends with 1 where a stored file is missing or not what its name says."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE.tar", help="where to write; must not exist")
        parser.add_argument("--data", metavar="DIR", help="the data folder (embedded mode)")

    def handle(self, *, file: Path, **options: object) -> None:
        self.refuse_what_cannot_be(file)
        try:
            with tempfile.TemporaryDirectory(prefix=".backup-", dir=file.absolute().parent) as folder:
                # The rows first: whatever a row names was stored before the row was written, and is not removed.
                snapshot = take_snapshot(Path(folder))
                with new_archive(file.absolute(), head_of(snapshot)) as archive:
                    self.put_rows(archive, snapshot)
                    n_files, faults = self.put_pictures(archive, snapshot)
        except DamagedDatabase as problem:
            words = f"Nothing was written: the database is damaged ({problem}). Restore an older backup."
            raise CommandError(words) from None
        except (OSError, DatabaseError, BotoCoreError, ClientError) as problem:
            raise CommandError(f"No backup was made: {problem}", returncode=2) from problem
        self.stdout.write(f"{file}: the database and {counted(n_files, 'stored file')}. {self.about_the_key()}")
        if faults:
            faults.append("The backup holds everything else, and what is wrong as it is.")
            raise CommandError("\n".join(faults))

    def refuse_what_cannot_be(self, file: Path) -> None:
        """Say at once what cannot work."""
        if file.exists():
            raise CommandError(f"{file} exists already; a backup never replaces another. Name a new file.")
        if not file.absolute().parent.is_dir():
            raise CommandError(f"There is no folder {file.absolute().parent}. Make it, or name another file.")
        if not settings.HOUSE and not Path(settings.DATABASES["default"]["NAME"]).exists():
            raise CommandError(f"{settings.DATA_DIR} holds no Roughproof. Name its data folder with --data DIR.")

    def put_rows(self, archive: ArchiveWriter, snapshot: Snapshot) -> None:
        """Put the database in, and in the embedded mode what lies beside it."""
        for name, path in snapshot.files.items():
            archive.add_path(name, path)
        if settings.HOUSE:
            return
        archive.add_path(KEY, settings.DATA_DIR / KEY)
        for mail in sorted(Path(settings.EMAIL_FILE_PATH).glob("*.log")):
            with mail.open("rb") as written:
                # A mail that is being written just now is taken as far as it is.
                archive.add(MAIL + mail.name, written, mail.stat().st_size)

    def put_pictures(self, archive: ArchiveWriter, snapshot: Snapshot) -> tuple[int, list[str]]:
        """Put every stored file in; gives how many, and a sentence for each that is missing or wrong."""
        n_files, faults = 0, []
        with tempfile.TemporaryFile("w+", dir=snapshot.contents.parent, encoding="ascii") as originals:
            for name in all_names():
                if not is_a_name(PICTURES + name):
                    faults.append(f"{name} was not written by Roughproof and is left out.")
                    continue
                try:
                    with storage.open_stored(name) as stored:
                        found = archive.add(PICTURES + name, stored, storage.size(name))
                except FileNotFoundError:
                    continue  # cleared away meanwhile, so no row names it; one that a row names is missed below
                n_files += 1
                promised = hash_named_by(name)
                if promised and promised != found:
                    faults.append(f"{name} is not what its name says: its SHA-256 is {found}.")
                if name.startswith("originals/"):
                    originals.write(f"{promised}\n")
            originals.seek(0)
            for missing in snapshot.missing_from(line.strip() for line in originals):
                faults.append(f"{storage.original_name(missing)} is missing, though a picture names it.")
        return n_files, faults

    def about_the_key(self) -> str:
        """Say what must be kept beside the file, or kept from others."""
        if settings.HOUSE:
            return "SECRET_KEY is not in it: keep that too, or links in mails that were sent will not open."
        return "The secret key is in it, so keep the file where nobody else can read it."
