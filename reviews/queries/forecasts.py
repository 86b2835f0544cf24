"""The forecast of a book as it was last computed, and whether it still holds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Case, When

from reviews.models import Book, Forecast, Job
from reviews.models.jobs import JobState
from reviews.rules.forecast.outlook_text import Told, told_from_text


@dataclass(frozen=True)
class Outlooked:
    """A kept forecast; ``is_current`` is false where the book has moved on since."""

    told: Told
    computed_at: datetime
    is_current: bool


def forecast_of(book: Book, inputs: str) -> Outlooked | None:
    """Find the forecast for these inputs, or else the last one there is (1 query)."""
    these_first = Case(When(inputs=inputs, then=0), default=1)
    row = Forecast.objects.filter(book=book).order_by(these_first, "-computed_at", "-pk").first()
    return Outlooked(told_from_text(row.text), row.computed_at, row.inputs == inputs) if row else None


def has_failed(job: Job) -> bool:
    """Say whether a forecast was given up."""
    return job.state == JobState.FAILED
