"""Marked places made ready for a page: what part of the picture to show, and what to draw on it.

The crop is an SVG view box over the screen preview, so that no picture is cut for the screen and no
inline style is needed.
"""

from __future__ import annotations

from dataclasses import dataclass

from reviews.geometry import Point, region_from_json, to_pixels
from reviews.models import Note, Picture
from reviews.pages.wording.notes import place_words
from reviews.rules.crops import crop_around
from reviews.rules.states import Reach
from reviews.rules.strokes import runs_of

# A point's ring, as a share of the picture's longer side: about a finger's breadth on an opening.
RING_SHARE = 0.018
# The number beside a mark, as a share of the longer side: legible on a thumb of 480 px.
FLAG_SHARE = 0.042


@dataclass(frozen=True)
class StrokePath:
    """A part of what was drawn over the art, as an SVG path in pixels of the picture, and how wide it is."""

    path: str
    width: str
    under: str


@dataclass(frozen=True, kw_only=True)
class NotePath:
    """One note's mark in pixels of its picture, written as an SVG path (closed); ``strokes`` stand in its place."""

    note: int
    label: str
    path: str
    flag_x: int
    flag_y: int
    flag_size: int
    strokes: tuple[StrokePath, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Crop:
    """The part of a picture around one mark. ``view`` and ``whole`` are SVG view boxes in picture pixels."""

    picture: int
    width_px: int
    height_px: int
    view: str
    mark: NotePath
    place: str


def crop_of(note: Note, label: str = "") -> Crop | None:
    """Say what to show of a note's place; None until the picture's size is known. Needs ``picture`` joined."""
    picture = note.picture
    if note.reach != Reach.PLACE:
        return None
    if not picture.width_px or not picture.height_px or not picture.has_preview:
        return None
    region = region_from_json(note.region)
    box = crop_around(region, picture.width_px, picture.height_px)
    left, top = to_pixels(Point(box.x0, box.y0), picture.width_px, picture.height_px)
    right, bottom = to_pixels(Point(box.x1, box.y1), picture.width_px, picture.height_px)
    return Crop(
        picture=picture.pk,
        width_px=picture.width_px,
        height_px=picture.height_px,
        view=f"{left:.0f} {top:.0f} {right - left:.0f} {bottom - top:.0f}",
        mark=mark_of(note, picture, label),
        place=place_words(region),
    )


def mark_of(note: Note, picture: Picture, label: str) -> NotePath:
    """Draw a note's region as a path in picture pixels; needs the picture's size."""
    width, height = picture.width_px or 1, picture.height_px or 1
    region = region_from_json(note.region)
    corners = [to_pixels(point, width, height) for point in region.points]
    flag_size = round(FLAG_SHARE * max(width, height))
    if region.kind == "point":
        (x, y), r = corners[0], RING_SHARE * max(width, height)
        path = f"M{x - r:.0f} {y:.0f}a{r:.0f} {r:.0f} 0 1 0 {2 * r:.0f} 0a{r:.0f} {r:.0f} 0 1 0 {-2 * r:.0f} 0z"
        return NotePath(
            note=note.pk,
            label=label,
            path=path,
            flag_x=round(x - r),
            flag_y=round(max(y - r, flag_size * 1.2)),
            flag_size=flag_size,
        )
    if region.kind == "box":
        (x0, y0), (x1, y1) = corners
        corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    path = "M" + "L".join(f"{x:.0f} {y:.0f}" for x, y in corners) + "z"
    left, top = min(x for x, _ in corners), min(y for _, y in corners)
    # A mark that touches the upper edge would push its number off the picture.
    return NotePath(
        note=note.pk,
        strokes=strokes_of(note, width, height),
        label=label,
        path=path,
        flag_x=round(left),
        flag_y=round(max(top, flag_size * 1.2)),
        flag_size=flag_size,
    )


def strokes_of(note: Note, width: int, height: int) -> tuple[StrokePath, ...]:
    """Write what was drawn with a note as SVG paths in picture pixels."""
    longer = max(width, height)
    return tuple(
        StrokePath(
            "M" + "L".join(f"{x * width:.0f} {y * height:.0f}" for x, y in (*run.points, run.points[-1])),
            f"{run.width * longer:.1f}",
            f"{run.width * longer * 1.9:.1f}",
        )
        for run in runs_of(note.strokes)
    )
