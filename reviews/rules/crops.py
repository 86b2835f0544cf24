"""How much of a picture is shown around a marked place: enough to know where, near enough to see what."""

from __future__ import annotations

from reviews.geometry import Box, Point, Region, from_pixels, to_pixels

# Common practice, found by looking: a crop of a tenth of an opening shows a head without saying whose.
LEAST_SHARE = 0.24
MARGIN_SHARE = 0.45
ASPECT = 4 / 3


def crop_around(region: Region, width_px: int, height_px: int, *, aspect: float = ASPECT) -> Box:
    """Choose the part of a picture to show for a note.

    The marked place stays in the middle unless the picture's edge is near; the crop never leaves the
    picture, so near an edge, or for a mark as large as the picture, its proportions give way.
    """
    x0, y0 = to_pixels(Point(region.box.x0, region.box.y0), width_px, height_px)
    x1, y1 = to_pixels(Point(region.box.x1, region.box.y1), width_px, height_px)
    least = LEAST_SHARE * max(width_px, height_px)
    margin = MARGIN_SHARE * max(x1 - x0, y1 - y0)
    width, height = max(least, x1 - x0 + 2 * margin), max(least / aspect, y1 - y0 + 2 * margin)
    width, height = max(width, height * aspect), max(height, width / aspect)
    left, right = _within((x0 + x1) / 2, width, width_px)
    top, bottom = _within((y0 + y1) / 2, height, height_px)
    start, end = from_pixels(left, top, width_px, height_px), from_pixels(right, bottom, width_px, height_px)
    return Box(start.x, start.y, end.x, end.y).clamped()


def _within(middle: float, length: float, limit: float) -> tuple[float, float]:
    """Lay a stretch around its middle, pushed back inside 0…limit."""
    length = min(length, limit)
    start = min(max(0.0, middle - length / 2), limit - length)
    return start, start + length


def place_of(region: Region) -> tuple[str, str]:
    """Say roughly where a mark lies: in which third across, in which third down."""
    across = ("left", "middle", "right")[min(2, int(region.centre.x * 3))]
    down = ("top", "middle", "bottom")[min(2, int(region.centre.y * 3))]
    return across, down
