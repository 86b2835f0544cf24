"""Measure a plate of a special finish in the background, and how it lies on its art."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.actions.plates import keep_plate
from reviews.imaging.plate_check import PlateLaid, plate_of
from reviews.imaging.results import Refusal
from reviews.models import PlateCheck
from reviews.press.finish import FINISH_LIMITS, Finish, FinishLimits, PlateFound
from reviews.tasks.registry import does


@does(jobs.PLATE_CHECK)
def measure_plate(claim: Claim) -> None:
    """Measure one plate against one version of the art. The same files give the same, so a second run does no harm."""
    row = PlateCheck.objects.get(pk=claim.subject_id)
    told = json.loads(row.laid)
    laid = PlateLaid(
        plate=tuple(told["plate"]), art=tuple(told["art"]), folds_mm=tuple(told["folds"]), channel=told.get("channel")
    )
    with (
        storage.open_original_locally(row.sha256) as plate,
        storage.open_original_locally(row.art_sha256) as art,
    ):
        found = plate_of(plate, art, laid, _limits(row.finish, told))
        if isinstance(found, Refusal):
            # A folder that is away for a moment looks like a file that cannot be read.
            storage.check_still_there(plate, row.sha256)
            storage.check_still_there(art, row.art_sha256)
    keep_plate(row.pk, _written(found))


def _limits(finish: str, told: Mapping[str, Any]) -> FinishLimits:
    """Give the limits that a measurement was asked for by: the printer's own line and gap, where they are told."""
    start = FINISH_LIMITS[Finish(finish)]
    if "limits" not in told:
        return start
    line, gap = told["limits"]
    return replace(start, least_line_mm=line, least_gap_mm=gap)


def _written(found: PlateFound | Refusal) -> dict[str, Any]:
    return {"code": found.code} if isinstance(found, Refusal) else asdict(found)
