"""A job whose every beginning and every effect is counted, for workers that will be killed.

The effect is a row in a table without any constraint, so doing it twice would show; each beginning is a
line in a file, so that a test can prove its kills really hit work in hand.
"""

import os
import time
from pathlib import Path

from django.db import connection, transaction

from reviews import jobs
from reviews.actions.jobs import Claim, note_progress, settle_job
from reviews.tasks import registry

KIND = jobs.COMPARE
STEP_SECONDS = float(os.environ.get("COUNTING_STEP_SECONDS", "0.06"))
N_STEPS = 4


def make_table() -> None:
    with connection.cursor() as cursor:
        cursor.execute("CREATE TABLE counted_effects (subject_id bigint NOT NULL)")


def take_over() -> None:
    """Let the counted function do jobs of its kind, instead of the real one."""
    registry.load()
    registry._functions[KIND] = count


def count(claim: Claim) -> None:
    with Path(os.environ["COUNTING_BEGUN"]).open("a") as begun:
        begun.write(f"{claim.subject_id}\n")
    for step in range(N_STEPS):
        time.sleep(STEP_SECONDS)
        note_progress(claim, 100 * step // N_STEPS)
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("INSERT INTO counted_effects VALUES (%s)", [claim.subject_id])
        time.sleep(STEP_SECONDS)  # the moment at which a kill would tear effect and end apart
        settle_job(claim)
