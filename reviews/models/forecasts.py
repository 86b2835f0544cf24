"""Forecasts that were computed, each beside the fingerprint of what it was computed from."""

from __future__ import annotations

from django.db import models

from reviews.models.books import Book


class Forecast(models.Model):
    """One forecast of a book: the same ``inputs`` give the same figures, so each is computed once and kept."""

    book = models.ForeignKey(Book, on_delete=models.PROTECT, related_name="forecasts")
    inputs = models.CharField(max_length=64)
    # As ``rules.outlook_text`` writes it.
    text = models.JSONField()
    computed_at = models.DateTimeField()

    class Meta:
        ordering = ["book", "-computed_at", "-pk"]
        constraints = [models.UniqueConstraint(fields=["book", "inputs"], name="forecast_once_per_inputs")]

    def __str__(self) -> str:
        return f"forecast {self.pk}"
