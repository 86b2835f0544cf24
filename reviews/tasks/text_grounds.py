"""Measure the art under placed text in the background."""

from __future__ import annotations

import json
from dataclasses import asdict

from reviews import jobs
from reviews.actions.jobs import Claim
from reviews.actions.text_grounds import keep_ground
from reviews.imaging.proof.text_ground import GroundAsked, measure_all
from reviews.models import TextGround
from reviews.tasks.comparisons import preview
from reviews.tasks.registry import does


@does(jobs.TEXT_GROUND)
def measure_ground(claim: Claim) -> None:
    """Measure one picture under its blocks. The same pixels give the same answer, so a second run does no harm."""
    row = TextGround.objects.get(pk=claim.subject_id)
    asked = [GroundAsked(**{**one, "boxes": tuple(tuple(box) for box in one["boxes"])}) for one in json.loads(row.laid)]
    keep_ground(row.pk, {"found": [asdict(found) for found in measure_all(preview(row.sha256), asked)]})
