"""`manage.py sweep`: put right what a dead worker or a lost message left behind (house mode)."""

import logging
import threading
from argparse import ArgumentParser

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from reviews.actions.jobs import put_back_unsent, requeue_abandoned, take_unsent
from reviews.jobs import send
from reviews.management.processes import stop_when_told
from reviews.management.starting import CannotBegin, wait_for_tables
from reviews.queries.outages import what_is_away
from reviews.tasks.morning import look_around

log = logging.getLogger(__name__)


class Command(BaseCommand):
    help = "Put abandoned jobs back and send waiting ones to the broker again. Any number may run at once."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--every", type=float, metavar="SECONDS", help="go on, with this pause (default: once)")

    def handle(self, *, every: float | None, **options: object) -> None:
        self.wait_for_tables()
        if every is None:
            n_back, n_sent = sweep_once()
            n_mails = look_around("sweep")
            self.stdout.write(f"{n_back} put back, {n_sent} sent.")
            if n_mails:
                self.stdout.write(f"Morning mails put together: {n_mails}.")
            return
        stop = threading.Event()
        stop_when_told(stop.set)
        while not stop.wait(every):
            try:
                sweep_once()
                look_around("sweep")
            except Exception as problem:  # database or broker away for a moment: the next sweep may find them back
                is_news = what_is_away(problem) is None
                log.warning("This sweep failed; the next one tries again: %s", problem, exc_info=is_news)
                connection.close()

    def wait_for_tables(self) -> None:
        """Begin when the migration that starts beside us is through."""
        try:
            wait_for_tables(log.warning, seconds=settings.START_PATIENCE_SECONDS)
        except CannotBegin as problem:
            raise CommandError(str(problem)) from None


def sweep_once() -> tuple[int, int]:
    """Return how many jobs were put back and how many ids were sent."""
    n_back = requeue_abandoned()
    n_sent = 0
    for job_id, kind in take_unsent():
        if not send(job_id, kind):
            put_back_unsent(job_id)
            break  # A broker that is away for one is away for all; what is left is still marked as sent by nobody.
        n_sent += 1
    return n_back, n_sent
