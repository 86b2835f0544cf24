"""The changed places of one comparison, each with its words and the two crops to put beside each other."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Literal, TypedDict

from django.urls import reverse

from reviews.geometry import Affine, Box, Point, Region, bounding_box, map_region, to_pixels
from reviews.models import Picture
from reviews.pages.wording.changes import change_words, place_letter
from reviews.pages.wording.notes import place_words
from reviews.rules.crops import crop_around
from reviews.rules.touching_places import joined_places


class PlaceCrop(TypedDict):
    """One place cut out of a preview: an SVG view box in picture pixels, and the path of its outline."""

    when: str
    preview_url: str
    width_px: int
    height_px: int
    view: str
    path: str


class ChangedPlace(TypedDict):
    """One place to look at: ``old`` and ``new`` on the earlier picture, ``on_b`` on the newer one, in fractions."""

    letter: str
    words: str
    label: str
    where: str
    old: dict[str, float] | None
    new: dict[str, float] | None
    on_b: dict[str, float] | None
    crops: list[PlaceCrop]


def changed_places(
    result: dict[str, Any] | None,
    before: Picture,
    after: Picture,
    *,
    reading: int = 0,
    which: Literal["changes", "other_changes", "unsure"] = "changes",
) -> list[ChangedPlace]:
    """List what changed, in the order it was found (heaviest first), for the table and for the page (no query).

    ``old`` and ``new`` are boxes on the earlier picture, ``on_b`` on the newer one, all in fractions. Where two
    readings were found, the places of the second one carry small letters.
    """
    if result is None:
        return []
    places: list[ChangedPlace] = []
    for position, change in enumerate(joined_places(result.get(which, []))):
        old, new, on_b = (Box(**change[key]) if change[key] else None for key in ("old", "new", "on_b"))
        was = [box for box in (old, new) if box]
        now = _on_b(new or old, result, reading) or on_b
        vector = change["vector_mm"]
        places.append(
            {
                "letter": place_letter(position).lower() if reading else place_letter(position),
                # What was compared before figures were looked for turned and resized says nothing of it.
                "words": change_words(
                    change["label"],
                    tuple(vector) if vector else None,
                    scale=change.get("scale", 1.0),
                    turn_deg=change.get("turn_deg", 0.0),
                ),
                "label": change["label"],
                "where": place_words(_region(on_b)) if on_b else "",
                "old": change["old"],
                "new": change["new"],
                "on_b": change["on_b"],
                "crops": [
                    crop
                    for crop in (_crop(before, was, old or new, "before"), _crop(after, [on_b], now, "now"))
                    if crop
                ],
            }
        )
    return places


def _region(box: Box) -> Region:
    return Region("box", (Point(box.x0, box.y0), Point(box.x1, box.y1)))


def _on_b(box: Box | None, result: dict[str, Any], reading: int) -> Box | None:
    """Where a box of the earlier picture lies on the newer one, by one of the readings."""
    if box is None or len(result["maps"]) <= reading:
        return None
    return map_region(_region(box), Affine(**result["maps"][reading])).box


def _crop(picture: Picture, shown: Iterable[Box | None], marked: Box | None, when: str) -> PlaceCrop | None:
    """Cut one place from a picture's preview by an SVG view box in picture pixels."""
    boxes = [box for box in shown if box]
    width, height = picture.width_px, picture.height_px
    if not boxes or marked is None or not width or not height or not picture.has_preview:
        return None
    corners = [Point(x, y) for box in boxes for x, y in ((box.x0, box.y0), (box.x1, box.y1))]
    view = crop_around(_region(bounding_box(corners)), width, height)
    (left, top), (right, bottom) = (
        to_pixels(Point(x, y), width, height) for x, y in ((view.x0, view.y0), (view.x1, view.y1))
    )
    (x0, y0), (x1, y1) = (
        to_pixels(Point(x, y), width, height) for x, y in ((marked.x0, marked.y0), (marked.x1, marked.y1))
    )
    return {
        "when": when,
        "preview_url": reverse("reviews:picture-preview", args=[picture.pk]),
        "width_px": width,
        "height_px": height,
        "view": f"{left:.0f} {top:.0f} {right - left:.0f} {bottom - top:.0f}",
        "path": f"M{x0:.0f} {y0:.0f}H{x1:.0f}V{y1:.0f}H{x0:.0f}z",
    }
