"""What one of two versions shows and the other does not, as a small picture with that part hatched."""

from __future__ import annotations

from typing import Any, TypedDict

from django.urls import reverse

from reviews.geometry import Affine, Point, to_pixels
from reviews.models import Picture

_CODES = {"before": "no-longer-shown", "now": "newly-shown"}


class UnsharedPart(TypedDict):
    """One picture, and the path of what of it lies outside the other, in picture pixels (even-odd)."""

    when: str
    preview_url: str
    width_px: int
    height_px: int
    path: str


def unshared_parts(result: dict[str, Any] | None, before: Picture, after: Picture) -> list[UnsharedPart]:
    """Show what is no longer and what is newly shown, where a remark tells of it (no query)."""
    if result is None or not result["maps"]:
        return []
    told = {remark["code"] for remark in result["remarks"]}
    onto_new = Affine(**result["maps"][0])
    parts = (_part(before, onto_new.inverse(), "before"), _part(after, onto_new, "now"))
    return [part for part in parts if part and _CODES[part["when"]] in told]


def _part(picture: Picture, other_on_it: Affine, when: str) -> UnsharedPart | None:
    """Outline the whole picture and in it the frame of the other one: what lies between is shown by one alone."""
    width, height = picture.width_px, picture.height_px
    if not width or not height or not picture.has_preview:
        return None
    corners = [other_on_it.apply(Point(x, y)) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))]
    frame = "L".join("{:.0f} {:.0f}".format(*to_pixels(corner, width, height)) for corner in corners)
    return {
        "when": when,
        "preview_url": reverse("reviews:picture-preview", args=[picture.pk]),
        "width_px": width,
        "height_px": height,
        "path": f"M0 0H{width}V{height}H0zM{frame}z",
    }
