"""Work done behind a request: one row per piece of work, and the row is the truth.

The row is written in the transaction of the deed that needs it, so work is neither lost when the deed
holds nor begun when it is rolled back. Whatever carries the id to a worker may lose it or deliver it twice.
"""

from datetime import datetime, timedelta

from django.conf import settings
from django.db import models
from django.db.models import Case, Q, Value, When
from django.db.models.functions import Coalesce

# Clocks of machines that work together agree to within a few seconds; a moment further ahead was written by a clock
# that has been put right since.
AHEAD = timedelta(seconds=30)
# Somebody looks at the page while a picture is read; the rest comes after.
FIRST_KINDS = ("renditions",)
# What hangs on a mail server waits in a line of its own, so that a server that is silent holds no picture back.
MAIL_KINDS = ("mail", "invitation", "password-link", "digest", "operator-mail")

#: What stands as the error of a job that killed its worker each time; the number of its attempts follows.


class JobState(models.TextChoices):
    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"


class JobQuerySet(models.QuerySet["Job"]):
    def ready(self, at: datetime) -> "JobQuerySet":
        """Return the jobs a worker may take at this moment: pictures first, then the longest waiting.

        A pause counts only by the clock it was set by: where that clock was ahead of this one, it is over.
        """
        due = Q(run_after=None) | Q(run_after__lte=at) | Q(paused_at__gt=at + AHEAD)
        first = Case(When(kind__in=FIRST_KINDS, then=Value(0)), default=Value(1))
        return self.filter(due, state=JobState.QUEUED).order_by(first, Coalesce("run_after", "created_at"), "pk")

    def abandoned(self, at: datetime) -> "JobQuerySet":
        """Return the jobs whose worker stopped renewing its lease, or renewed it by a clock put right since."""
        longest = at + 2 * timedelta(seconds=settings.JOB_LEASE_SECONDS) + AHEAD
        out = Q(lease_until__lt=at) | Q(lease_until__gt=longest)
        return self.filter(out, state=JobState.RUNNING).order_by("pk")

    def of_lane(self, *, mail: bool) -> "JobQuerySet":
        """Return the mails, or everything else."""
        return self.filter(kind__in=MAIL_KINDS) if mail else self.exclude(kind__in=MAIL_KINDS)

    def open(self) -> "JobQuerySet":
        """Return the jobs still to be done."""
        return self.filter(state__in=[JobState.QUEUED, JobState.RUNNING])


class Job(models.Model):
    """One piece of work: a kind, the row it is for, and how far it has come."""

    kind = models.CharField(max_length=40)
    subject_id = models.BigIntegerField()
    # What makes two pieces of work the same one; a second request for it finds this row.
    key = models.CharField(max_length=160, unique=True)
    state = models.CharField(max_length=8, choices=JobState.choices, default=JobState.QUEUED)
    attempts = models.PositiveSmallIntegerField(default=0)
    # How many of these tries ended because something else was away: a machine, a server, room on the disk.
    outages = models.PositiveIntegerField(default=0)
    # Nothing means at once, whatever the clock says; a pause ends at this moment …
    run_after = models.DateTimeField(null=True, blank=True)
    # … by the clock that showed this one when the pause was set.
    paused_at = models.DateTimeField(null=True, blank=True)
    # Handed to a broker at this moment, and taken by it; only the house mode reads it.
    sent_at = models.DateTimeField(null=True, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    # A fresh random word for each claim: a worker that was believed dead and woke up holds the old one.
    lease_token = models.CharField(max_length=32, blank=True)
    progress = models.PositiveSmallIntegerField(default=0)
    # What is being done and what went wrong, each a code with its values in one object; {} where there is nothing.
    progress_step = models.JSONField(default=dict, blank=True)
    error = models.JSONField(default=dict, blank=True)
    created_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(state__in=JobState.values), name="job_state_is_known"),
            models.CheckConstraint(condition=Q(progress__lte=100), name="job_progress_is_a_percentage"),
            models.CheckConstraint(
                condition=Q(state=JobState.RUNNING, lease_until__isnull=False) & ~Q(lease_token="")
                | ~Q(state=JobState.RUNNING) & Q(lease_until__isnull=True, lease_token=""),
                name="job_has_a_lease_while_running",
            ),
            models.CheckConstraint(
                condition=Q(state__in=[JobState.DONE, JobState.FAILED], finished_at__isnull=False)
                | Q(state__in=[JobState.QUEUED, JobState.RUNNING], finished_at__isnull=True),
                name="job_finished_at_marks_the_end",
            ),
            models.CheckConstraint(condition=~Q(state=JobState.FAILED) | ~Q(error={}), name="job_failed_says_why"),
            models.CheckConstraint(
                condition=Q(run_after=None) | Q(paused_at__isnull=False), name="job_pause_names_its_clock"
            ),
        ]
        indexes = [
            # Shaped like the one query every idle worker repeats all day.
            models.Index(fields=["run_after", "id"], condition=Q(state="queued"), name="job_ready"),
            models.Index(fields=["lease_until"], condition=Q(state="running"), name="job_leases"),
            models.Index(fields=["kind", "subject_id"], name="job_subject"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.subject_id} ({self.state})"
