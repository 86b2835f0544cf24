"""Ask for a forecast, and keep one that was computed. Neither changes the book, so no ledger entry is owed."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from reviews import jobs
from reviews.models import Book, Forecast, Job


def ask_for_forecast(book: Book, inputs: str) -> Job:
    """Have a forecast computed in the background, once for the same inputs.

    Where a job has found newer inputs than it was asked for, its own were never computed; they are old by then.
    """
    return jobs.enqueue(jobs.FORECAST, book.pk, key=f"{jobs.FORECAST}:{book.pk}:{inputs}")


def keep_forecast(book_id: int, inputs: str, text: dict[str, Any]) -> Forecast:
    """Keep a forecast beside the fingerprint of its inputs; the same inputs are kept once."""
    kept, _ = Forecast.objects.get_or_create(
        book_id=book_id, inputs=inputs, defaults={"text": text, "computed_at": timezone.now()}
    )
    return kept
