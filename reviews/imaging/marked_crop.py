"""Cut the marked place out of a screen preview, with the mark drawn on it, for paper and mail."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence

from PIL import Image, ImageDraw

from reviews.geometry import Box, Point, Region, to_pixels

# The correction red of the screens, and the light line under it that keeps it visible on dark art.
RED = (176, 32, 26)
UNDER = (255, 255, 255)
LONGEST_PX = 900
JPEG_QUALITY = 86
RING_SHARE = 0.018


#: Points as fractions of the picture, and the width of the line as a share of its longer side.
Run = tuple[Sequence[tuple[float, float]], float]


def cut_marked_place(
    preview_jpeg: bytes, region: Region, crop_around: Callable[[Region, int, int], Box], runs: Sequence[Run] = ()
) -> bytes:
    """Return a JPEG of the place around a region, marked, at most 900 px long; ``runs`` drawn there stand for the mark.

    ``preview_jpeg`` is our own rendition, not what a stranger sent. ``crop_around`` (see ``rules.crops``) says, for
    a region and the picture's width and height in pixels, how much to show.
    """
    with Image.open(io.BytesIO(preview_jpeg)) as opened:
        picture = opened.convert("RGB")
    width, height = picture.size
    box = crop_around(region, width, height)
    left, top = to_pixels(Point(box.x0, box.y0), width, height)
    right, bottom = to_pixels(Point(box.x1, box.y1), width, height)
    crop = picture.crop((round(left), round(top), round(right), round(bottom)))
    scale = min(1.0, LONGEST_PX / max(crop.size))
    if scale < 1.0:
        crop = crop.resize((round(crop.width * scale), round(crop.height * scale)), Image.Resampling.LANCZOS)

    def on_crop(point: Point) -> tuple[float, float]:
        x, y = to_pixels(point, width, height)
        return (x - left) * scale, (y - top) * scale

    longer = max(width, height) * scale
    if runs:
        _draw_runs(crop, [([on_crop(Point(x, y)) for x, y in points], share * longer) for points, share in runs])
    else:
        _draw(crop, region.kind, [on_crop(point) for point in region.points], RING_SHARE * longer)
    out = io.BytesIO()
    crop.save(out, "JPEG", quality=JPEG_QUALITY)
    return out.getvalue()


def _draw(crop: Image.Image, kind: str, points: list[tuple[float, float]], ring: float) -> None:
    pen = ImageDraw.Draw(crop)
    line = max(2, round(max(crop.size) / 160))
    for colour, width in ((UNDER, line * 2 + 1), (RED, line)):
        if kind == "point":
            (x, y) = points[0]
            pen.ellipse((x - ring, y - ring, x + ring, y + ring), outline=colour, width=width)
        elif kind == "box":
            pen.rectangle((*points[0], *points[1]), outline=colour, width=width)
        else:
            pen.line([*points, points[0]], fill=colour, width=width, joint="curve")


def _draw_runs(crop: Image.Image, runs: Sequence[tuple[list[tuple[float, float]], float]]) -> None:
    """Draw what was drawn over the art: all light lines first, so that no stroke is cut by the edge of the next."""
    pen = ImageDraw.Draw(crop)
    for colour, times in ((UNDER, 1.9), (RED, 1.0)):
        for points, width in runs:
            line = max(1, round(width * times))
            if len(points) > 1:
                pen.line(points, fill=colour, width=line, joint="curve")
            for x, y in points:  # the ends are round, and so is a dot
                pen.ellipse((x - line / 2, y - line / 2, x + line / 2, y + line / 2), fill=colour)
