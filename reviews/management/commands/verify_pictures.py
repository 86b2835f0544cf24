"""`manage.py verify_pictures`: hold every stored picture against its fingerprint and its row."""

from __future__ import annotations

from argparse import ArgumentParser
from dataclasses import asdict

from botocore.exceptions import BotoCoreError, ClientError
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError
from django.utils import timezone

from reviews.actions.store_checks import begin_by_hand
from reviews.models.store_checks import N_SHARDS
from reviews.notices.stored_faults import fault_words
from reviews.tasks.store_check import Fault, Found, check_shards

CANNOT_LOOK = 2


class Command(BaseCommand):
    help = (
        "Hold every original and every letter's PDF against its SHA-256, and every rendition against what was read of "
        "its picture: there, decodable, of the right size, its tiles' checksums right (not: that it shows the right "
        "picture). Ends with 0 where all is well, 1 where something is wrong, 2 where it could not look."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--repair", action="store_true",
            help="make wrong renditions again; remove files that no row has named for a fortnight; "
            "an original that a row names is never touched",
        )  # fmt: skip

    def handle(self, *, repair: bool, **options: object) -> None:
        try:
            check = begin_by_hand(timezone.now())
            found = check_shards(check, N_SHARDS, repair=repair, tell=self.tell)
        except (OSError, DatabaseError, BotoCoreError, ClientError) as problem:
            words = f"The check could not go on: {problem}. Nothing is known of what was not looked at."
            raise CommandError(words, returncode=CANNOT_LOOK) from problem
        self.stdout.write(self.summary(found))
        if found.n_open:
            raise CommandError(f"{_counted(found.n_open, 'fault')} left.", returncode=1)

    def tell(self, fault: Fault) -> None:
        """Say each fault as it is found: a large store takes hours."""
        self.stdout.write(fault_words(asdict(fault)))
        self.stdout.flush()

    def summary(self, found: Found) -> str:
        """Say what was looked at, so that nobody takes silence for more than it is."""
        words = (
            f"{_counted(found.n_originals, 'original')} ({found.n_bytes / 1e6:.1f} MB sound) and "
            f"{_counted(found.n_papers, 'letter’s PDF', 'letters’ PDFs')} held against their SHA-256; "
            f"renditions of {_counted(found.n_renditions, 'picture')} opened and measured, not compared by eye."
        )
        if found.n_repaired or found.n_removed:
            made, gone = _counted(found.n_repaired, "rendition"), _counted(found.n_removed, "file")
            words += f" {made} made again, {gone} removed."
        return words


def _counted(n: int, one: str, many: str = "") -> str:
    return f"{n} {one if n == 1 else many or one + 's'}"
