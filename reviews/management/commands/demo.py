"""`manage.py demo`: a whole book of our own, half-way through, to try everything on."""

import shutil
from argparse import ArgumentParser
from pathlib import Path
from time import monotonic

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection

from reviews.demo.book import make_demo_book
from reviews.management.serving import DEMO_MARK, ServingCommand
from reviews.models.seats import Seat
from reviews.pages.wording.names import role_words
from reviews.queries.demo_sign_in import sign_in_path
from reviews.queries.running import operators

DRAWING, DRAWN = "drawing", "drawn"
RUNS_IT = "runs this Roughproof"


class Command(ServingCommand):
    help = "Draw the demo book if it is absent, serve it to this machine only, print a sign-in for each role."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--fresh", action="store_true", help="throw the demo away first and draw it anew")

    def handle(self, *, port: int | None, no_serve: bool, fresh: bool, **options: object) -> None:
        self.refuse_house()
        if self.holds_work and not self.is_demo_folder:
            raise CommandError(f"{self.data} holds books of your own. Name another folder with --data DIR.")
        mark = self.data / DEMO_MARK
        # A demo that was interrupted while drawing is half a book: begin it anew.
        if fresh or not self.is_demo_folder or mark.read_text().strip() != DRAWN:
            self.throw_away()
            mark.write_text(DRAWING)
            self.migrate()
            self.draw()
            mark.write_text(DRAWN)
        self.migrate()
        if no_serve:
            call_command("work", until_idle=True)
            self.say(f"The demo is ready in {self.data}.")
            return
        self.serve(port, {"ROUGHPROOF_DEMO": "1"})

    def throw_away(self) -> None:
        """Delete what the demo made, by name; a folder that holds anything else keeps it."""
        connection.close()
        database = Path(settings.DATABASES["default"]["NAME"])
        for path in (database.with_name(database.name + end) for end in ("", "-wal", "-shm")):
            path.unlink(missing_ok=True)
        for name in settings.DATA_SUBFOLDERS:
            shutil.rmtree(self.data / name, ignore_errors=True)
            (self.data / name).mkdir(mode=0o700)

    def draw(self) -> None:
        """Make the demo book."""
        self.say("Drawing the demo book; this takes about a minute …")
        began = monotonic()
        make_demo_book()
        self.say(f"Drawn in {monotonic() - began:.0f} s.")

    def announce(self, address: str) -> None:
        super().announce(address)
        self.say("\nSign in with one click, as:")
        seats = Seat.objects.filter(ended_at=None).select_related("person").order_by("pk")
        people = [(role_words(seat.role), seat.person) for seat in seats]
        # One page belongs to no seat: how this Roughproof runs.
        for words, person in [*people, *((RUNS_IT, person) for person in operators())]:
            self.say(f"  {words:<26} {person.name:<18} {address}{sign_in_path(person.email)}")
