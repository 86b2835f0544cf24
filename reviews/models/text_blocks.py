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
