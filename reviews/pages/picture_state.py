"""How far a picture has come: the answer to the script that waits while it is read."""

from __future__ import annotations

from typing import TypedDict

from django.urls import reverse

from reviews.models import Picture
from reviews.pages.file_faults import file_cautions
from reviews.pages.wording.jobs import error_sentence
from reviews.pages.wording.pictures import picture_reason
from reviews.queries.trouble import Trouble
from reviews.rules.states import HandInState


class PictureStanding(TypedDict):
    """What is known of a picture so far; ``reason`` says why it could not be read, if so.

    ``trouble`` says what hinders the reading for now, and ``is_given_up`` whether it is tried no more.
    """

    id: int
    state: str
    reason: str
    trouble: str
    is_given_up: bool
    thumb_url: str | None
    width_px: int | None
    height_px: int | None
    cautions: list[str]
    n_pages: int


def picture_standing(picture: Picture, trouble: Trouble | None = None) -> PictureStanding:
    """Say how far a picture has come; needs its passage with book, spread and stage joined (no query)."""
    is_draft = picture.hand_in.state == HandInState.DRAFT
    return {
        "id": picture.pk,
        "state": picture.state,
        "reason": picture_reason(picture),
        "trouble": error_sentence(trouble.error) if trouble else "",
        "is_given_up": bool(trouble and trouble.is_given_up),
        "thumb_url": reverse("reviews:picture-thumb", args=[picture.pk]) if picture.has_preview else None,
        "width_px": picture.width_px,
        "height_px": picture.height_px,
        "n_pages": picture.facts.get("n_pages", 1),
        "cautions": file_cautions(picture, picture.hand_in.passage) if is_draft else [],
    }
