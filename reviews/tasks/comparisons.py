"""Compare two pictures in the background: what changed, and where each note is now."""

from __future__ import annotations

import io
from dataclasses import asdict
from typing import Any

import numpy as np
from PIL import Image

from reviews import jobs, storage
from reviews.actions.comparisons import keep_comparison
from reviews.actions.jobs import Claim
from reviews.geometry import region_from_json, region_to_json
from reviews.imaging.changes.comparing import compare
from reviews.imaging.changes.findings import ComparisonResult, FoundChange, TransferredNote
from reviews.imaging.changes.measured import touch_bounds
from reviews.imaging.results import PREVIEW_NAME
from reviews.models import Comparison, Picture
from reviews.queries.comparisons import notes_to_carry
from reviews.tasks.registry import does


@does(jobs.COMPARE)
def compare_pictures(claim: Claim) -> None:
    """Compare one pair. The same pixels give the same answer, so a second run does no harm."""
    row = Comparison.objects.get(pk=claim.subject_id)
    after = Picture.objects.select_related("hand_in__passage").get(pk=int(claim.key.rsplit(":", 1)[-1]))
    notes = notes_to_carry(row.sha256_a, after)
    found = compare(
        preview(row.sha256_a), preview(row.sha256_b), row.width_um / 1000, [region_from_json(n.region) for n in notes]
    )
    carried = [as_row(note.pk, after.pk, one) for note, one in zip(notes, found.notes, strict=True)]
    others = {str(note.pk): as_seen(one) for note, one in zip(notes, found.other_notes, strict=False)}
    keep_comparison(row.pk, as_result(found) | {"other_notes": others}, carried)


def preview(sha256: str) -> Any:
    """Read a picture's preview as (rows, columns, 3) uint8 sRGB."""
    with Image.open(io.BytesIO(storage.read_all(storage.rendition_name(sha256, PREVIEW_NAME)))) as image:
        return np.asarray(image.convert("RGB"))


def as_result(found: ComparisonResult) -> dict[str, Any]:
    """Write a comparison as JSON for the table: boxes and maps in fractions, lengths in millimetres."""
    usable = found.alignment.is_usable
    return {
        "method": found.method,
        "state": found.alignment.state,
        "maps": [asdict(found.alignment.a_to_b(i)) for i in range(len(found.alignment.readings))] if usable else [],
        "remarks": [remark.coded() for remark in found.remarks],
        "redraw_mm": found.redraw_mm,
        "least_move_mm": found.least_move_mm,
        "changes": [_as_place(change) for change in found.changes],
        "other_changes": [_as_place(change) for change in found.other_changes],
        "unsure": [_as_place(change) for change in found.unsure],
        "coverage": asdict(found.coverage) if found.coverage else None,
        "rates": touch_bounds(found.media).coded(),
    }


def _as_place(change: FoundChange) -> dict[str, Any]:
    return {
        "label": change.label,
        "old": asdict(change.old_on_a) if change.old_on_a else None,
        "new": asdict(change.new_on_a) if change.new_on_a else None,
        "on_b": asdict(change.on_b),
        "vector_mm": change.vector_mm,
        "scale": change.scale,
        "turn_deg": change.turn_deg,
        "score": change.score,
    }


def as_row(note: int, picture: int, one: TransferredNote) -> dict[str, Any]:
    return {"note": note, "picture": picture, **as_seen(one)}


def as_seen(one: TransferredNote) -> dict[str, Any]:
    """Write where one note's subject is and what was seen there; with two readings each has its own."""
    return {
        "state": one.state,
        "region": region_to_json(one.on_b),
        "by_page": region_to_json(one.by_page),
        "verdict": one.evidence.verdict,
        "score": float(one.evidence.score),
    }
