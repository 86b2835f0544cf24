"""`manage.py serve`: Roughproof on this machine, with its own worker, in one command."""

from django.core.management.base import CommandError

from reviews.management.serving import ServingCommand


class Command(ServingCommand):
    help = "Serve Roughproof from one data folder; the first visit makes the first account."

    def handle(self, *, port: int | None, no_serve: bool, **options: object) -> None:
        self.refuse_house()
        if self.is_demo_folder:
            raise CommandError(f"{self.data} holds the demo. Name a folder for your own books with --data DIR.")
        self.migrate()
        if no_serve:
            self.say(f"{self.data} is ready.")
            return
        self.serve(port, {})
