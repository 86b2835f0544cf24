"""`manage.py sweep`: put right what a dead worker or a lost message left behind (house mode)."""

import logging
import threading
from argparse import ArgumentParser

from django.core.management.base import BaseCommand
from django.db import connection
from django.utils import timezone

from reviews.actions.jobs import requeue_abandoned, take_unsent
from reviews.jobs import send
from reviews.management.processes import stop_when_told
from reviews.tasks.morning import look_at_the_day
from reviews.tasks.night import look_at_the_night

log = logging.getLogger(__name__)


class Command(BaseCommand):
    help = "Put abandoned jobs back and send waiting ones to the broker again. Any number may run at once."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--every", type=float, metavar="SECONDS", help="go on, with this pause (default: once)")

    def handle(self, *, every: float | None, **options: object) -> None:
        if every is None:
            look_at_the_night(timezone.now())
            n_back, n_sent = sweep_once()
            n_mails = look_at_the_day(timezone.now())
            self.stdout.write(f"{n_back} put back, {n_sent} sent.")
            if n_mails:
                self.stdout.write(f"Morning mails put together: {n_mails}.")
            return
        stop = threading.Event()
        stop_when_told(stop.set)
        while not stop.wait(every):
            try:
                look_at_the_night(timezone.now())
                sweep_once()
                look_at_the_day(timezone.now())
            except Exception:  # database or broker away for a moment: the next sweep may find them back
                log.exception("This sweep failed; the next one tries again.")
                connection.close()


def sweep_once() -> tuple[int, int]:
    """Return how many jobs were put back and how many ids were sent."""
    n_back = requeue_abandoned()
    return n_back, sum(send(job_id) for job_id in take_unsent())
