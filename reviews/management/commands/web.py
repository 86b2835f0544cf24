"""`manage.py web`: the embedded web server alone; `serve` and `demo` start it themselves."""

import gc
import os
from argparse import ArgumentParser

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.core.wsgi import get_wsgi_application

from reviews.management.processes import LOOPBACK, stop_when_told
from reviews.management.starting import CannotBegin, check_folder, check_tables
from reviews.management.web_server import web_server


class Command(BaseCommand):
    help = "Serve the pages on this machine only. `serve` starts this together with the worker."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="the port to listen on (default 8000)")

    def handle(self, *, port: int, **options: object) -> None:
        # A request never owns work that matters after its answer, so ending at once loses nothing.
        stop_when_told(lambda: os._exit(0))
        self.look_first()
        application = get_wsgi_application()
        # What was loaded stays: looking through it again for garbage cost single requests 10 to 20 ms.
        gc.collect()
        gc.freeze()
        try:
            server = web_server(application, host=LOOPBACK, port=port)
        except OSError as problem:
            raise CommandError(f"Port {port} cannot be used: {problem.strerror}. Name another with --port.") from None
        server.run()

    def look_first(self) -> None:
        """Say at the start what would otherwise be a 500 on every page."""
        try:
            if not settings.HOUSE:
                check_folder()
            check_tables("Run `manage.py migrate`, or start by `manage.py serve`.")
        except CannotBegin as problem:
            raise CommandError(str(problem)) from None
