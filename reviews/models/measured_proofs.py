"""Measured proofs: the control strip of a printed sheet, judged against a set of aims that the house loaded."""

from __future__ import annotations

from django.db import models

from reviews.models.books import Book
from reviews.models.passages import Passage
from reviews.models.seats import Seat


class ReferenceSet(models.Model):
    """A set of aims, as its file tells them: ``text`` is the file, CGATS in Latin letters."""

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="reference_sets")
    name = models.CharField(max_length=120)
    sha256 = models.CharField(max_length=64)
    text = models.TextField()
    added_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [models.UniqueConstraint(fields=["book", "sha256"], name="reference_set_once_per_book")]

    def __str__(self) -> str:
        return self.name


class MeasuredProof(models.Model):
    """One measurement and its verdict. ``lines`` and ``patches`` are as ``press.proof_text`` writes them."""

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="measured_proofs")
    passage = models.ForeignKey(Passage, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    file_name = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64)
    reference = models.ForeignKey(ReferenceSet, on_delete=models.PROTECT, related_name="+")
    limits = models.CharField(max_length=40)
    verdict = models.CharField(max_length=16)
    lines = models.JSONField()
    patches = models.JSONField()
    unmatched = models.PositiveIntegerField(default=0)
    judged_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    judged_at = models.DateTimeField()

    class Meta:
        ordering = ["-judged_at", "-pk"]

    def __str__(self) -> str:
        return self.file_name
