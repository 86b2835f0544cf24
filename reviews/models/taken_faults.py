"""A stopper that somebody takes on by name: it will be printed as it is, and whose word that was is kept."""

from __future__ import annotations

from django.db import models

from reviews.models.hand_ins import Picture
from reviews.models.passages import Passage
from reviews.models.seats import Seat


class TakenFault(models.Model):
    """One fault of one picture of final art, taken on at the proof of its spread, with a reason.

    ``values`` are its figures then: worse ones are taken on by another row, or by nobody.
    """

    passage = models.ForeignKey(Passage, on_delete=models.PROTECT, related_name="taken_faults")
    picture = models.ForeignKey(Picture, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=40)
    values = models.JSONField(default=dict)
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.code} on {self.picture}"
