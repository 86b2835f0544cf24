"""What was approved and lies beneath a picture of the table, for a look at it."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from reviews.models import Passage, Picture, Seat
from reviews.queries.access import may_see_picture
from reviews.queries.comparisons import approved_before
from reviews.queries.frames import frame_of


def approved_under(passage: Passage, seat: Seat) -> dict[str, Any]:
    """Say for each picture handed in here what approved version lies beneath it (at most 4 queries).

    What is approved at this stage lies beneath every other version of it; otherwise what an earlier stage approved.
    """
    found = [one for one in (passage.approved_picture, approved_before(passage)) if one is not None]
    pictures = Picture.objects.filter(hand_in__passage=passage, removed_at=None, has_preview=True)
    told: dict[int, dict[str, Any]] = {}
    shown = [_shown(one, seat) for one in found]
    for number in pictures.values_list("pk", flat=True):
        beneath = next((row for row in shown if row is not None and row["id"] != number), None)
        if beneath is not None:
            told[number] = beneath
    return {"pictures": told}


def _shown(picture: Picture, seat: Seat) -> dict[str, Any] | None:
    row = Picture.objects.select_related(
        "hand_in__passage__book", "hand_in__passage__spread", "hand_in__passage__stage", "hand_in__by"
    ).get(pk=picture.pk)
    if not row.has_preview or not may_see_picture(row, seat):
        return None
    frame = frame_of(row, row.hand_in.passage)
    trim = frame.trim_box if frame and frame.is_laid else None
    return {
        "id": row.pk,
        "url": reverse("reviews:picture-preview", args=[row.pk]),
        "trim": [trim.x0, trim.y0, trim.x1, trim.y1] if trim else None,
        "words": _("Approved: {stage}").format(stage=row.hand_in.passage.stage.name),
    }
