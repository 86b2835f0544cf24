"""`manage.py operator`: who runs this portal, sees how it runs, and gets a line a day when something is wrong."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from reviews.actions.people import name_operator
from reviews.queries.running import operators


class Command(BaseCommand):
    help = "List who runs this portal, or name somebody who has an account. It opens no book to them."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("address", nargs="?", help="the address they sign in with")
        parser.add_argument("--end", action="store_true", help="they run it no more")

    def handle(self, *, address: str | None, end: bool, **options: object) -> None:
        if address and not name_operator(address, runs_portal=not end):
            raise CommandError(f"Nobody signs in here with {address}.")
        for person in operators():
            self.stdout.write(f"{person.name} <{person.email}>")
