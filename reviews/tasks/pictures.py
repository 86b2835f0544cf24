"""Read an uploaded picture: preview first, then tiles and facts; or the reason why not."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from reviews import jobs, storage
from reviews.actions.jobs import Claim
from reviews.actions.pictures import picture_ready, picture_refused, show_preview
from reviews.imaging.decode import examine
from reviews.imaging.proof_sheet import facts_of_sheet
from reviews.imaging.renditions import make_renditions
from reviews.imaging.results import PREVIEW_NAME, THUMB_NAME, PictureFacts, Refusal
from reviews.models import Picture
from reviews.queries.pictures import is_waiting_to_be_read, read_before, sha256_of
from reviews.queries.proof_sheets import SHEET, is_from_printer
from reviews.tasks.registry import does


@does(jobs.RENDITIONS)
def read_picture(claim: Claim) -> None:
    """Make what the screens show of one picture. Files are named by content, so a second run rewrites the same."""
    picture_id = claim.subject_id
    if not is_waiting_to_be_read(picture_id):
        return
    sha256 = sha256_of(picture_id)
    same = read_before(sha256)
    if same is not None:
        # Read already, perhaps shown to others: what stands is not touched.
        facts = same.facts | _sheet_of_same(picture_id, same)
        picture_ready(picture_id, width_px=same.width_px or 0, height_px=same.height_px or 0, facts=facts)
        return
    with storage.open_original_locally(sha256) as original, tempfile.TemporaryDirectory(prefix="renditions-") as name:
        folder = Path(name)

        def first_picture(preview: Path, facts: PictureFacts) -> None:
            for made in (THUMB_NAME, PREVIEW_NAME):
                storage.keep_rendition(sha256, preview.with_name(made))
            show_preview(picture_id, width_px=facts.width_px, height_px=facts.height_px)

        made = make_renditions(original, folder, on_preview=first_picture)
        if isinstance(made, Refusal):
            # A folder that is away for a moment looks like a file that cannot be read; nobody is told to replace it.
            storage.check_still_there(original, sha256)
            picture_refused(picture_id, code=made.code, values=made.values)
            return
        storage.keep_renditions(sha256, folder)
        sheet = {SHEET: facts_of_sheet(original, made.facts)} if is_from_printer(picture_id) else {}
    facts = made.kept_facts() | sheet
    picture_ready(picture_id, width_px=made.facts.width_px, height_px=made.facts.height_px, facts=facts)


def _sheet_of_same(picture_id: int, same: Picture) -> dict[str, Any]:
    """Look where the trim is on what the printer made of a content that was read as something else before."""
    if SHEET in same.facts or not is_from_printer(picture_id):
        return {}
    with storage.open_original_locally(same.sha256) as original:
        return {SHEET: facts_of_sheet(original, examine(original))}
