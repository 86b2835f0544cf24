"""Profiles of printing conditions that were brought to a book, and pictures shown as they would print by one."""

from __future__ import annotations

from django.db import models

from reviews.models.books import Book
from reviews.models.seats import Seat
from reviews.press.soft_proof import Rendering


class PrintProfile(models.Model):
    """An ICC profile of a printing condition. The file is stored as originals are; ``name`` is its own description."""

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="print_profiles")
    name = models.CharField(max_length=200)
    file_name = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64)
    n_bytes = models.PositiveIntegerField()
    added_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [models.UniqueConstraint(fields=["book", "sha256"], name="print_profile_once_per_book")]

    def __str__(self) -> str:
        return self.name


class SoftProof(models.Model):
    """One content as one printing condition would print it. ``result`` is None until it is made.

    Named by content, as inks are: it is reached only through a picture that its reader may see.
    """

    sha256 = models.CharField(max_length=64)
    profile_sha256 = models.CharField(max_length=64)
    profile_name = models.CharField(max_length=200)
    profile_n_bytes = models.PositiveIntegerField()
    rendering = models.CharField(max_length=20, choices=[(one.value, one.value) for one in Rendering])
    has_black_point = models.BooleanField()
    shows_paper = models.BooleanField()
    method = models.CharField(max_length=40)
    result = models.JSONField(null=True, blank=True)
    made_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["sha256", "profile_sha256", "rendering", "has_black_point", "shows_paper", "method"],
                name="soft_proof_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.sha256[:8]} by {self.profile_name}"
