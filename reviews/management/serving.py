"""What `demo` and `serve` share: prepare the data folder, then keep web server and worker running."""

import fcntl
import os
from argparse import ArgumentParser
from collections.abc import Mapping
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from reviews.management.processes import LOOPBACK, CannotStart, Supervisor, free_port
from reviews.management.starting import CannotBegin, check_folder, refuse_newer
from reviews.queries.schema import schema_now

DEFAULT_PORT = 8000
DEMO_MARK = "this-is-the-demo"


class ServingCommand(BaseCommand):
    """A command that owns the data folder while it runs."""

    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        # manage.py reads --data before settings are loaded; it is named here for --help and to be accepted.
        parser.add_argument("--data", metavar="DIR", help="the data folder (default var/, or ROUGHPROOF_DATA)")
        parser.add_argument("--port", type=int, help=f"the port (default {DEFAULT_PORT}, or the next free one)")
        parser.add_argument("--no-serve", action="store_true", help="prepare the folder and end")

    @property
    def data(self) -> Path:
        return Path(settings.DATA_DIR)

    @property
    def is_demo_folder(self) -> bool:
        return (self.data / DEMO_MARK).exists()

    @property
    def holds_work(self) -> bool:
        return Path(settings.DATABASES["default"]["NAME"]).exists()

    def refuse_house(self) -> None:
        """This pair of processes is the embedded mode; the house has its own."""
        if settings.HOUSE:
            raise CommandError("This is the embedded mode. In house mode start the services of docker-compose.yml.")

    def migrate(self) -> None:
        """Bring the tables up to date; looking first saves a second on every later start.

        A folder that cannot be written, a damaged database and one of a newer version are refused in a sentence.
        """
        try:
            check_folder()
            refuse_newer()
        except CannotBegin as problem:
            raise CommandError(str(problem)) from None
        if schema_now().missing:
            call_command("migrate", verbosity=0, interactive=False)

    def serve(self, port: int | None, environment: Mapping[str, str]) -> None:
        """Run until Ctrl-C or SIGTERM, as the only one on this folder."""
        with (self.data / "serve.lock").open("a") as lock:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                raise CommandError(
                    f"{self.data} is being served already. Stop that, or name another folder with --data DIR."
                ) from None
            self.clear_incoming()
            self.supervise(port, environment)
        self.say("Stopped.")

    def clear_incoming(self) -> None:
        """Delete what uploads left half-received when the web server was killed; nobody else receives now."""
        for left in (self.data / "incoming").glob("*.upload*"):
            left.unlink(missing_ok=True)

    def supervise(self, port: int | None, environment: Mapping[str, str]) -> None:
        """Start the processes, say where they are, and keep them running."""
        try:
            chosen = free_port(port or DEFAULT_PORT, exactly=port is not None)
            address = f"http://{LOOPBACK}:{chosen}"
            connection.close()
            supervisor = Supervisor(
                {"web": ["web", "--port", str(chosen)], "worker": ["work"]},
                {"PUBLIC_ADDRESS": os.environ.get("PUBLIC_ADDRESS") or address, **environment},
            )
            supervisor.start()
            try:
                supervisor.wait_for_port(chosen)
                if not supervisor.stopping.is_set():
                    self.announce(address)
                supervisor.keep_running()
            finally:
                supervisor.stop()
        except CannotStart as problem:
            raise CommandError(str(problem)) from None

    def announce(self, address: str) -> None:
        """Say where to look; the demo adds its sign-ins."""
        self.say(f"Roughproof is at {address}   (Ctrl-C stops it)")

    def say(self, words: str) -> None:
        """Print at once, also into a pipe."""
        self.stdout.write(words)
        self.stdout.flush()
