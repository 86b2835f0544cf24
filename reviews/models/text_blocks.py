"""The text of a spread as it was placed on its pages, each version kept."""

from __future__ import annotations

from django.db import models

from reviews.models.books import Book, Spread
from reviews.models.seats import Seat


class SpreadText(models.Model):
    """One version of a spread's text blocks. Never altered: a change is the next version.

    ``blocks`` are as ``press.text_text`` writes them, none where all were taken away. ``is_change``: it was placed
    after a sketch of the spread was approved, and so is a change of text.
    """

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="texts")
    spread = models.ForeignKey(Spread, on_delete=models.PROTECT, related_name="texts")
    version = models.PositiveSmallIntegerField()
    blocks = models.JSONField(default=list, blank=True)
    is_change = models.BooleanField(default=False)
    set_by = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="+")
    set_at = models.DateTimeField()

    class Meta:
        ordering = ["book", "spread", "version"]
        constraints = [models.UniqueConstraint(fields=["spread", "version"], name="text_version_once")]

    def __str__(self) -> str:
        return f"text, version {self.version}"


class TextGround(models.Model):
    """The art of one content under text that lies on it in one way, by one method. ``result`` is None until measured.

    ``laid`` is as ``queries.text_grounds`` writes it. Named by content, as inks are: it is reached only through a
    picture that its reader may see.
    """

    sha256 = models.CharField(max_length=64)
    laid_sha256 = models.CharField(max_length=64)
    laid = models.TextField()
    method = models.CharField(max_length=40)
    result = models.JSONField(null=True, blank=True)
    made_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["sha256", "laid_sha256", "method"], name="ground_measured_once"),
        ]

    def __str__(self) -> str:
        return f"art under text of {self.sha256[:8]}"
