"""`manage.py jobs`: what waits, what runs, what failed; and one more try for what failed."""

from argparse import ArgumentParser

from django.core.management.base import BaseCommand, CommandError
from django.db.models import Count

from reviews.actions.jobs import begin_again, begin_all_again
from reviews.models.jobs import Job, JobState
from reviews.pages.wording.derived import step_words
from reviews.pages.wording.jobs import error_sentence, job_words
from reviews.pages.wording.names import JOB_STATE_WORDS


class Command(BaseCommand):
    help = "List the background jobs that are not done, or begin failed ones again."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--again", nargs="+", metavar="ID", help="begin these failed jobs again, or `all` of them")

    def handle(self, *, again: list[str] | None, **options: object) -> None:
        if again == ["all"]:
            self.stdout.write(f"Queued again: {begin_all_again()}.")
            return
        if wrong := [words for words in again or [] if not words.isdecimal()]:
            raise CommandError(f"“{wrong[0]}” is no job’s number. Name numbers from the list, or `all`.")
        for job_id in map(int, again or []):
            if not begin_again(job_id):
                raise CommandError(f"Job {job_id} has not failed, so there is nothing to begin again.")
            self.stdout.write(f"Job {job_id} is queued again.")
        if again:
            return
        for row in Job.objects.values("state").annotate(n=Count("pk")).order_by("state"):
            self.stdout.write(f"{row['n']:6d} {JOB_STATE_WORDS[JobState(row['state'])]}")
        for job in Job.objects.exclude(state=JobState.DONE).order_by("state", "pk")[:200]:
            words = error_sentence(job.error) or (step_words(job.progress_step) if job.progress_step else "")
            self.stdout.write(f"{job.pk:6d} {job_words(job)}, try {job.attempts}. {words}")
