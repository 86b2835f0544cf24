"""Make a picture as a printing condition would print it, in the background."""

from __future__ import annotations

import tempfile
from dataclasses import asdict
from pathlib import Path
from typing import Any

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.actions.print_profiles import keep_soft_proof
from reviews.imaging.results import Refusal
from reviews.imaging.soft_proof import soft_proof_of
from reviews.models import SoftProof
from reviews.press.soft_proof import NotProofed, SoftFound
from reviews.queries.soft_proofs import choice_of
from reviews.tasks.registry import does


@does(jobs.SOFT_PROOF)
def make_soft_proof(claim: Claim) -> None:
    """Make one. The same files give the same pixels, so a second run does no harm."""
    row = SoftProof.objects.get(pk=claim.subject_id)
    with (
        storage.open_original_locally(row.sha256) as original,
        storage.open_original_locally(row.profile_sha256) as profile,
        tempfile.TemporaryDirectory(prefix="soft-") as name,
    ):
        found = soft_proof_of(original, profile, choice_of(row), Path(name))
        if isinstance(found, Refusal):
            # A folder that is away for a moment looks like a file that cannot be read.
            storage.check_still_there(original, row.sha256)
            storage.check_still_there(profile, row.profile_sha256)
        for made in sorted(Path(name).iterdir()):
            storage.keep_rendition(row.sha256, made, anew=True)
    keep_soft_proof(row.pk, _written(found))


def _written(found: SoftFound | NotProofed | Refusal) -> dict[str, Any]:
    if isinstance(found, SoftFound):
        return asdict(found)
    return {"code": found.code if isinstance(found, Refusal) else found.value}
