"""Where the illustrator points at a stroke of the pencil that is to be taken out of a scan."""

from __future__ import annotations

from typing import TypedDict

from django.urls import reverse

from reviews.models import Picture
from reviews.pages.hand_in_draft import Crumb
from reviews.rules.states import HandInState, PictureState


class PencilPage(TypedDict):
    """The page of one scan to point at."""

    name: str
    where: str
    preview_url: str
    take_out_url: str
    width_px: int
    height_px: int
    back_url: str
    crumbs: list[Crumb]


def can_be_pointed_at(picture: Picture) -> bool:
    """Say whether a picture stands in a draft and can be looked at."""
    is_there = picture.removed_at is None and picture.hand_in.state == HandInState.DRAFT
    return is_there and picture.state == PictureState.READY and picture.has_preview


def pencil_page(picture: Picture) -> PencilPage:
    """Gather the page on which a stroke in a scan of a draft is pointed at (no query)."""
    passage = picture.hand_in.passage
    draft = reverse("reviews:draft-hand-in", args=[passage.pk])
    return {
        "name": picture.file_name,
        "where": passage.where,
        "preview_url": reverse("reviews:picture-preview", args=[picture.pk]),
        "take_out_url": reverse("reviews:take-pencil-out", args=[picture.pk]),
        "width_px": picture.width_px or 1,
        "height_px": picture.height_px or 1,
        "back_url": f"{draft}#from-scans",
        "crumbs": [
            {"label": passage.book.title, "url": reverse("reviews:book-map", args=[passage.book_id])},
            {"label": passage.where, "url": reverse("reviews:passage", args=[passage.pk])},
            {"label": "Hand in", "url": draft},
            {"label": "The pencil", "url": ""},
        ],
    }
