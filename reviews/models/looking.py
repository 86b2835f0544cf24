"""Who has a passage open right now: a row is overwritten while they look, and says nothing a minute later."""

from __future__ import annotations

from django.db import models

from reviews.models.passages import Passage
from reviews.models.seats import Seat


class Looking(models.Model):
    """A seat that has the table of a passage open, as of ``seen_at``."""

    seat = models.ForeignKey(Seat, on_delete=models.CASCADE, related_name="+")
    passage = models.ForeignKey(Passage, on_delete=models.CASCADE, related_name="+")
    seen_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["seat", "passage"], name="looking_once")]

    def __str__(self) -> str:
        return f"{self.seat} at {self.seen_at}"
