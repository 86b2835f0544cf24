"""One mail that gathers many notices, so that nobody is flooded."""

from __future__ import annotations

from django.conf import settings
from django.db import models


class Digest(models.Model):
    """The mail of one morning, or of one thing that had to be said at once; ``key`` makes it one per cause."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="digests")
    key = models.CharField(max_length=80)
    day = models.DateField()
    made_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "key"], name="digest_once")]

    def __str__(self) -> str:
        return f"digest {self.pk}"
