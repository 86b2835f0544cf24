"""Hold a photographed proof against the final art, in the background."""

from __future__ import annotations

import tempfile
from dataclasses import asdict
from pathlib import Path

import cv2

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.actions.seen_proofs import keep_seen_proof
from reviews.imaging.proof.seen import SeenMap, see
from reviews.models import SeenProof
from reviews.press.seen_proof import sheet_name
from reviews.tasks.comparisons import preview
from reviews.tasks.registry import does


@does(jobs.SEEN_PROOF)
def see_proof(claim: Claim) -> None:
    """Look at one. The same pixels give the same answer, so a second run does no harm."""
    row = SeenProof.objects.get(pk=claim.subject_id)
    seen = see(preview(row.art_sha256), preview(row.sha256), row.width_um / 1000)
    if not isinstance(seen, SeenMap):
        keep_seen_proof(row.pk, {"code": seen.value})
        return
    with tempfile.TemporaryDirectory(prefix="seen-") as folder:
        sheet = Path(folder) / sheet_name(row.art_sha256, row.width_um)
        sheet.write_bytes(cv2.imencode(".png", seen.sheet)[1].tobytes())
        storage.keep_rendition(row.sha256, sheet, anew=True)
    keep_seen_proof(row.pk, asdict(seen.found))
