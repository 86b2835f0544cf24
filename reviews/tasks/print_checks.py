"""Measure the inks of a picture in the background."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.actions.print_checks import keep_inks
from reviews.imaging.print_check import inks_of
from reviews.imaging.results import Refusal
from reviews.models import InkCheck, Picture
from reviews.press.file_check import InkFound
from reviews.press.limits import FileLimits, InkCondition
from reviews.tasks.registry import does


@does(jobs.PRINT_CHECK)
def measure_inks(claim: Claim) -> None:
    """Measure one file. The same pixels give the same answer, so a second run does no harm."""
    row = InkCheck.objects.get(pk=claim.subject_id)
    width_px = Picture.objects.filter(sha256=row.sha256, width_px__isnull=False).values_list("width_px", flat=True)[0]
    limits = FileLimits(ink=InkCondition(row.limit, "own"))
    with storage.open_original_locally(row.sha256) as original:
        found = inks_of(original, (width_px or 1) * 1000 / row.width_um, limits, is_strict=False)
        if isinstance(found, Refusal):
            # A folder that is away for a moment looks like a file that cannot be read.
            storage.check_still_there(original, row.sha256)
    keep_inks(row.pk, _written(found))


def _written(found: InkFound | Refusal | None) -> dict[str, Any]:
    if isinstance(found, Refusal):
        return {"code": found.code}
    return asdict(found) if found else {"code": "no-inks"}
