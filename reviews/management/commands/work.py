"""`manage.py work`: the embedded worker; `serve` and `demo` start it themselves."""

import threading
from argparse import ArgumentParser
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from reviews.management.processes import stop_when_told
from reviews.management.starting import CannotBegin, check_folder, check_tables
from reviews.tasks import registry
from reviews.tasks.worker import AlreadyWorking, only_worker, work, work_until_idle


class Command(BaseCommand):
    help = "Do the work behind the requests, taking jobs from the database (embedded mode)."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--until-idle", action="store_true", help="do what is waiting and what is due this morning, then end"
        )

    def handle(self, *, until_idle: bool, **options: object) -> None:
        if settings.HOUSE:
            raise CommandError("In house mode Celery does the work: celery -A portal worker.")
        registry.load()
        try:
            check_folder()
            check_tables("`manage.py serve` brings them up to date, and starts this itself.")
        except CannotBegin as problem:
            raise CommandError(str(problem)) from None
        try:
            with only_worker(Path(settings.DATA_DIR)):
                if until_idle:
                    work_until_idle(slots=settings.JOB_SLOTS)
                    return
                stop = threading.Event()
                stop_when_told(stop.set)
                work(stop, slots=settings.JOB_SLOTS)
        except AlreadyWorking as problem:
            raise CommandError(str(problem)) from None
