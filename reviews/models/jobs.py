"""Work done behind a request: one row per piece of work, and the row is the truth.

The row is written in the transaction of the deed that needs it, so work is neither lost when the deed
holds nor begun when it is rolled back. Whatever carries the id to a worker may lose it or deliver it twice.
"""

from django.db import models
from django.db.models import Q


class JobState(models.TextChoices):
    QUEUED = "queued", "waiting"
    RUNNING = "running", "being done"
    DONE = "done", "done"
    FAILED = "failed", "could not be done"


class JobQuerySet(models.QuerySet["Job"]):
    def ready(self, at) -> "JobQuerySet":
        """Return the jobs a worker may take at this moment, the longest waiting first."""
        return self.filter(state=JobState.QUEUED, run_after__lte=at).order_by("run_after", "pk")

    def abandoned(self, at) -> "JobQuerySet":
        """Return the jobs whose worker stopped renewing its lease."""
        return self.filter(state=JobState.RUNNING, lease_until__lt=at).order_by("pk")

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
    run_after = models.DateTimeField()
    # Handed to a broker at this moment; only the sweep of the house mode reads it.
    sent_at = models.DateTimeField(null=True, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    # A fresh random word for each claim: a worker that was believed dead and woke up holds the old one.
    lease_token = models.CharField(max_length=32, blank=True)
    progress = models.PositiveSmallIntegerField(default=0)
    progress_words = models.CharField(max_length=200, blank=True)
    error = models.CharField(max_length=500, blank=True)
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
            models.CheckConstraint(condition=~Q(state=JobState.FAILED) | ~Q(error=""), name="job_failed_says_why"),
        ]
        indexes = [
            # Shaped like the one query every idle worker repeats all day.
            models.Index(fields=["run_after", "id"], condition=Q(state="queued"), name="job_ready"),
            models.Index(fields=["lease_until"], condition=Q(state="running"), name="job_leases"),
            models.Index(fields=["kind", "subject_id"], name="job_subject"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.subject_id} ({self.get_state_display()})"
