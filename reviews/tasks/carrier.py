"""The one Celery task: an id arrives, the runner does the rest. House mode only."""

from celery import shared_task

from reviews.actions.jobs import claim_next
from reviews.jobs import CARRIER
from reviews.models.jobs import FIRST_KINDS, MAIL_KINDS, Job
from reviews.tasks.runner import carry_out, run_job
from reviews.uploads import clear_scratch_now_and_then


@shared_task(name=CARRIER)
def carry_job(job_id: int) -> None:
    """Run the job with this id; one that is done, running or gone is quietly left alone.

    Pictures go first: whatever waits to be read is read before anything else but a mail, which has a line of its own.
    """
    clear_scratch_now_and_then()
    kind = Job.objects.filter(pk=job_id).values_list("kind", flat=True).first()
    if kind is not None and kind not in (*FIRST_KINDS, *MAIL_KINDS):
        while (claim := claim_next(kinds=FIRST_KINDS)) is not None:
            carry_out(claim)
    run_job(job_id)
