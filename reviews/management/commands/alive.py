"""`manage.py alive sweep`: end well where that process said within five minutes that it is there; for health checks."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from reviews.queries.running import was_seen


class Command(BaseCommand):
    help = "Say whether the sweep (house mode) or the worker (embedded mode) was seen lately."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", choices=["sweep", "worker"])

    def handle(self, *, name: str, **options: object) -> None:
        if not was_seen(name, timezone.now()):
            raise CommandError(f"No {name} was seen for five minutes.")
        self.stdout.write(f"The {name} is there.")
