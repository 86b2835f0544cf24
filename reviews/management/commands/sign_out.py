"""`manage.py sign_out`: end all sessions of a person, and their second step where the telephone is lost."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError

from reviews.actions.second_step import drop_second_step
from reviews.actions.sessions import end_sessions
from reviews.models import Person


class Command(BaseCommand):
    help = "Sign a person out everywhere. With --without-second-step the password alone lets them in again."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("email", metavar="ADDRESS", help="the mail address the person signs in with")
        parser.add_argument("--without-second-step", action="store_true", help="also take the second step away")

    def handle(self, *, email: str, without_second_step: bool, **options: object) -> None:
        person = Person.objects.filter(email=email.strip().lower()).first()
        if person is None:
            raise CommandError(f"Nobody signs in with {email} here.")
        ended = end_sessions(person)
        self.stdout.write(f"{ended} session{'' if ended == 1 else 's'} of {person} ended.")
        if without_second_step:
            drop_second_step(person)
            self.stdout.write("The second step is off.")
