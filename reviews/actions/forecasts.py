"""Ask for a forecast, and keep one that was computed. Neither changes the book, so no ledger entry is owed."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.utils import timezone

from reviews import jobs
from reviews.models import Book, Forecast, Job
from reviews.models.jobs import JobState

#: A new forecast is computed at least once a day for as long as a book is looked at; only the last few are of use.
KEPT = 5


def ask_for_forecast(book: Book, inputs: str) -> Job:
    """Have a forecast computed in the background, once for the same inputs.

    A finished job is not begun again, and what it computed may be gone: it found newer inputs than it was asked for,
    or its forecast was let go. Then another is asked for, once for each forecast that has come since.
    """
    key = f"{jobs.FORECAST}:{book.pk}:{inputs}"
    job = jobs.enqueue(jobs.FORECAST, book.pk, key=key)
    if job.state == JobState.DONE and not Forecast.objects.filter(book=book, inputs=inputs).exists():
        last = Forecast.objects.filter(book=book).order_by("pk").values_list("pk", flat=True).last()
        job = jobs.enqueue(jobs.FORECAST, book.pk, key=f"{key}:since-{last or 0}")
    return job


def keep_forecast(book_id: int, inputs: str, text: dict[str, Any]) -> Forecast:
    """Keep a forecast beside the fingerprint of its inputs, the same inputs once, and let the oldest go."""
    with transaction.atomic():
        kept, _ = Forecast.objects.get_or_create(
            book_id=book_id, inputs=inputs, defaults={"text": text, "computed_at": timezone.now()}
        )
        newest = Forecast.objects.filter(book_id=book_id).order_by("-computed_at", "-pk").values_list("pk", flat=True)
        Forecast.objects.filter(book_id=book_id).exclude(pk__in=[kept.pk, *newest[:KEPT]]).delete()
    return kept
