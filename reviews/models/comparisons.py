"""What changed between two pictures, computed once per pair of contents and kept."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from reviews.models.hand_ins import Picture
from reviews.models.notes import Note
from reviews.models.seats import Seat


class Comparison(models.Model):
    """Two contents laid on each other at a print width, by one method. ``result`` is None until computed.

    What the result remarks on is stored as codes with their values; words are made where it is shown.
    Named by content: two spreads that share both files share the answer. Another method makes another row.
    """

    sha256_a = models.CharField(max_length=64)
    sha256_b = models.CharField(max_length=64)
    width_um = models.PositiveIntegerField(help_text="Print width of the first picture in micrometres.")
    method = models.CharField(max_length=200)
    result = models.JSONField(null=True, blank=True)
    made_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["sha256_a", "sha256_b", "width_um", "method"], name="compared_once"),
            models.CheckConstraint(
                condition=Q(result__isnull=True, made_at=None) | Q(result__isnull=False, made_at__isnull=False),
                name="comparison_result_has_moment",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sha256_a[:8]} → {self.sha256_b[:8]}"


class CarriedNote(models.Model):
    """Where one note's subject is on a later picture: the same note, shown again, not a copy.

    ``corrected`` is a person's own placing, which no later computation moves.
    """

    note = models.ForeignKey(Note, on_delete=models.PROTECT, related_name="carried")
    picture = models.ForeignKey(Picture, on_delete=models.PROTECT, related_name="carried_notes")
    comparison = models.ForeignKey(Comparison, on_delete=models.PROTECT, related_name="carried")
    state = models.CharField(max_length=12)
    region = models.JSONField()
    by_page = models.JSONField()
    verdict = models.CharField(max_length=12)
    score = models.FloatField()
    corrected = models.JSONField(null=True, blank=True)
    corrected_by = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["note", "picture"], name="note_carried_once_per_picture")]

    def __str__(self) -> str:
        return f"note {self.note_id} on picture {self.picture_id}"

    @property
    def place(self) -> dict:
        """Where it is shown: by hand if somebody placed it."""
        return self.corrected or self.region
