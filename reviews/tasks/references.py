"""Read a reference of a brief: its screen sizes, or the reason why there are none."""

from __future__ import annotations

import tempfile
from pathlib import Path

from reviews import jobs, storage
from reviews.actions.briefs import reference_read
from reviews.actions.jobs import Claim
from reviews.imaging.renditions import make_renditions
from reviews.imaging.results import PictureFacts, Refusal
from reviews.models import Reference
from reviews.queries.briefs import is_reference_waiting
from reviews.tasks.registry import does


@does(jobs.REFERENCE)
def read_reference(claim: Claim) -> None:
    """Make what the screens show of one reference. Files are named by content, so a second run rewrites the same."""
    if not is_reference_waiting(claim.subject_id):
        return
    sha256 = Reference.objects.values_list("sha256", flat=True).get(pk=claim.subject_id)
    if not storage.has_renditions(sha256):
        with (
            storage.open_original_locally(sha256) as original,
            tempfile.TemporaryDirectory(prefix="renditions-") as name,
        ):
            made = make_renditions(original, Path(name), on_preview=_nobody_waits)
            if isinstance(made, Refusal):
                storage.check_still_there(original, sha256)  # a place that is away is no verdict on the file
                reference_read(claim.subject_id, code=made.code, values=made.values)
                return
            storage.keep_renditions(sha256, Path(name))
    reference_read(claim.subject_id)


def _nobody_waits(preview: Path, facts: PictureFacts) -> None:
    """Show nothing early: a brief is read later."""
