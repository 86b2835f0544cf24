"""What was found when stored pictures were held against what the rows say of them."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

N_SHARDS = 256


class StoreCheck(models.Model):
    """One look at a share of the stored files: the next share each night, or all of them when asked for by hand.

    Files stand in 256 shards, by the first two digits of their hash; ``first_shard`` up to ``end_shard`` were looked at
    when ``finished_at`` is set. ``faults`` names the first hundred: {code, name, pictures, repaired, shard}.
    """

    night = models.DateField(null=True, blank=True, unique=True)  # none: asked for by hand
    begun_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)
    first_shard = models.PositiveSmallIntegerField()
    end_shard = models.PositiveSmallIntegerField(null=True, blank=True)
    n_originals = models.PositiveIntegerField(default=0)
    n_bytes = models.PositiveBigIntegerField(default=0)
    n_renditions = models.PositiveIntegerField(default=0)
    n_papers = models.PositiveIntegerField(default=0)
    n_faults = models.PositiveIntegerField(default=0)
    n_repaired = models.PositiveIntegerField(default=0)
    n_removed = models.PositiveIntegerField(default=0)
    faults = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["-begun_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(finished_at=None, end_shard=None)
                | Q(finished_at__isnull=False, end_shard__gt=F("first_shard"), end_shard__lte=N_SHARDS),
                name="store_check_says_how_far",
            ),
        ]

    def __str__(self) -> str:
        return f"shards {self.first_shard} to {self.end_shard}, {self.n_faults} faults"
