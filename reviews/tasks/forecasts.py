"""Compute a book's forecast in the background: numpy is not loaded in a request."""

from __future__ import annotations

from django.utils import timezone

from reviews import jobs
from reviews.actions.forecasts import keep_forecast
from reviews.actions.jobs import Claim
from reviews.models import Book, Forecast
from reviews.queries.reckoning import reckon_one
from reviews.rules.forecast.outlook_text import SEED, Question, Told, told_to_text
from reviews.rules.forecast.simulation import forecast, what_if_answered_today, what_if_in_time
from reviews.rules.states import Side
from reviews.tasks.registry import does
from reviews.tasks.reminders import say_what_cannot_be_met


@does(jobs.FORECAST)
def make_forecast(claim: Claim) -> None:
    """Forecast a book as it stands now, and say what cannot be met any more. A second run finds the kept one."""
    book = Book.objects.get(pk=claim.subject_id)
    reckoned = reckon_one(book, timezone.now())
    say_what_cannot_be_met(reckoned)
    question = reckoned.question()
    inputs = question.fingerprint
    if not Forecast.objects.filter(book=book, inputs=inputs).exists():
        keep_forecast(book.pk, inputs, told_to_text(told(question)))


def told(question: Question) -> Told:
    """Simulate a book, and what single changes would do to it."""
    asked = (question.pieces, question.pace, question.setting)
    outlook = forecast(*asked, seed=SEED)
    if not question.pieces:
        return Told(outlook, ())
    return Told(
        outlook,
        (
            what_if_answered_today(*asked, seed=SEED),
            what_if_in_time(*asked, Side.PUBLISHER, seed=SEED),
            what_if_in_time(*asked, Side.ILLUSTRATOR, seed=SEED),
        ),
    )
