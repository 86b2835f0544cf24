"""The one Celery task: an id arrives, the runner does the rest. House mode only."""

from celery import shared_task

from reviews.jobs import CARRIER
from reviews.tasks.runner import run_job
from reviews.uploads import clear_scratch_now_and_then


@shared_task(name=CARRIER)
def carry_job(job_id: int) -> None:
    """Run the job with this id; one that is done, running or gone is quietly left alone."""
    clear_scratch_now_and_then()
    run_job(job_id)
