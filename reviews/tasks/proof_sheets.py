"""Look where the trim is on a printer's sheet that was read before that was done."""

from __future__ import annotations

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.actions.proof_sheets import keep_sheet
from reviews.imaging.decode import examine
from reviews.imaging.proof_sheet import facts_of_sheet
from reviews.queries.pictures import sha256_of
from reviews.tasks.registry import does


@does(jobs.PROOF_SHEET)
def look_for_trim(claim: Claim) -> None:
    """Look at one file. The same file gives the same answer, so a second run does no harm."""
    sha256 = sha256_of(claim.subject_id)
    with storage.open_original_locally(sha256) as original:
        facts = examine(original)
        found = facts_of_sheet(original, facts)
        if "code" in found:
            # A folder that is away for a moment looks like a file that cannot be read.
            storage.check_still_there(original, sha256)
    keep_sheet(sha256, found)
