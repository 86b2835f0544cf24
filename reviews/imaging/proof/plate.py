"""A plate of a special finish, measured: what is thinner than a line may be, which gaps would fill, what nears a fold.

A line is too thin where a disc of the least width does not fit in it: what an opening with that disc takes away, less
the tips of corners, which any opening takes (Serra 1982). A gap is the same of the bare part.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import cv2
import numpy as np

from reviews.imaging.arrays import Bools, Pixels
from reviews.press.finish import LEAST_PX, MOST_PLACES, FinishLimits, PlateFound

METHOD = "plate-1"
STRIP_ROWS = 1024
FULL, BARE = 250, 5  # levels of 255 that count as full and bare: what a JPEG makes of 0 and 100 per cent
_STEPS = 3  # pixels by which the steps of a raster may lengthen what is left of a corner
_RIM = 0.8  # share of a part that touches what holds, from which on it is that shape's own edge
_TIP = 1.6  # a corner's tip is at most this many discs long, down to an angle of 30 degrees
Box = tuple[float, float, float, float]


def measure(
    strip: Callable[[int, int], Pixels],
    width_px: int,
    height_px: int,
    px_per_mm: float,
    limits: FinishLimits,
    folds_mm: Sequence[float] = (),
) -> PlateFound:
    """Measure a plate strip by strip.

    Parameters
    ----------
    strip : gives the rows from a top to before a bottom as (rows, columns) uint8, 255 where there is finish.
    px_per_mm : at print size.
    folds_mm : where the sheet folds, from the left edge of the picture.
    """
    line_px, gap_px = (mm * px_per_mm for mm in (limits.least_line_mm, limits.least_gap_mm))
    around = int(4 * max(line_px, gap_px)) + 4
    n_full = n_tones = 0
    thin: list[Box] = []
    gaps: list[Box] = []
    folds: list[Box] = []
    for top in range(0, height_px, STRIP_ROWS):
        count = min(STRIP_ROWS, height_px - top)
        above, below = min(around, top), min(around, height_px - top - count)
        pixels = strip(top - above, top + count + below)
        inner = pixels[above : above + count]
        n_full += int((inner > 127).sum())
        n_tones += int(((inner > BARE) & (inner < FULL)).sum())
        covered = pixels > 127
        rows = (top, top + count)
        thin += _placed(_too_thin(covered, line_px, loose=True), top - above, rows)
        gaps += _placed(_too_thin(~covered, gap_px, loose=False), top - above, rows)
        folds += _placed(
            _near(covered, [f * px_per_mm for f in folds_mm], limits.fold_mm * px_per_mm), top - above, rows
        )
    n = width_px * height_px
    fractions = [_fractions(joined(boxes, line_px), width_px, height_px) for boxes in (thin, gaps, folds)]
    return PlateFound(
        width_px=width_px,
        height_px=height_px,
        area=n_full / n,
        tones=n_tones / n,
        thin_places=fractions[0],
        gap_places=fractions[1],
        fold_places=fractions[2],
    )


def _fractions(boxes: Sequence[Box], width_px: int, height_px: int) -> tuple[Box, ...]:
    """Turn boxes in pixels into fractions of the picture."""
    return tuple(
        (left / width_px, up / height_px, right / width_px, down / height_px) for left, up, right, down in boxes
    )


def _too_thin(covered: Bools, least_px: float, *, loose: bool) -> list[tuple[int, int, int, int]]:
    """Find parts in which a disc of the least width does not fit, as boxes (left, top, right, bottom) in pixels.

    ``loose`` also counts what stands by itself and is smaller than the disc either way: a dot that cannot be made. A
    gap that short, closed all round, is a dot of bare paper and fills, which nobody sees.
    """
    # The disc of half a pixel less on each side still fits a line of just the least width.
    size = int(least_px)
    if size < LEAST_PX:  # pages say that it was not looked for, by ``finish.is_seen``
        return []
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    mask = covered.astype(np.uint8)
    edge = cv2.copyMakeBorder(mask, size, size, size, size, cv2.BORDER_REPLICATE)
    opened = cv2.morphologyEx(edge, cv2.MORPH_OPEN, disc)[size:-size, size:-size]
    rest: Pixels = (mask & (1 - np.asarray(opened, np.uint8))).astype(np.uint8)
    n, labels, boxes, _ = cv2.connectedComponentsWithStats(rest, connectivity=8)
    touching = np.bincount(labels[(cv2.dilate(opened, np.ones((3, 3), np.uint8)) > 0) & (rest > 0)], minlength=n)
    found = []
    for at in range(1, n):
        left, top, width, height, area = (int(v) for v in boxes[at])
        # A rim a pixel thick all along a shape is what a raster leaves of a round edge, and no line.
        is_rim = touching[at] >= _RIM * area
        is_long = max(width, height) >= _TIP * size + _STEPS and area >= size and not is_rim
        if is_long or (loose and not touching[at] and area > 1):
            found.append((left, top, left + width, top + height))
    return found


def _near(covered: Bools, folds_px: Sequence[float], reach_px: float) -> list[tuple[int, int, int, int]]:
    """Find finish that lies within reach of a fold and does not cross it whole, as boxes in pixels.

    What runs across the fold is meant to; an edge that stops beside it is what cracks or peels.
    """
    found = []
    for fold in folds_px:
        left, right = max(0, int(fold - reach_px)), min(covered.shape[1], int(np.ceil(fold + reach_px)))
        band = covered[:, left:right]
        stops: Bools = np.asarray(band.any(axis=1) & ~band.all(axis=1), np.bool_)
        found += [(left, top, right, bottom) for top, bottom in _runs(stops)]
    return found


def _runs(rows: Bools) -> Iterator[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], rows.astype(np.int8), [0]])))
    yield from ((int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True))


def _placed(boxes: list[tuple[int, int, int, int]], down: int, rows: tuple[int, int]) -> list[Box]:
    """Put boxes of a strip in their place on the picture, and keep those that begin in the strip's own rows."""
    moved = [(float(left), float(top + down), float(right), float(bottom + down)) for left, top, right, bottom in boxes]
    return [box for box in moved if rows[0] <= box[1] < rows[1] or (box[1] < rows[0] <= box[3] and rows[0] == 0)]


def joined(boxes: list[Box], gap_px: float) -> list[Box]:
    """Join boxes that touch or nearly do, largest first, at most as many as a person can look at."""
    left_over, done = sorted(boxes), []
    while left_over:
        box = left_over.pop(0)
        grew = True
        while grew:
            grew = False
            for other in list(left_over):
                if _touch(box, other, gap_px):
                    left_over.remove(other)
                    box = (min(box[0], other[0]), min(box[1], other[1]), max(box[2], other[2]), max(box[3], other[3]))
                    grew = True
        done.append(box)
    return sorted(done, key=lambda b: -(b[2] - b[0]) * (b[3] - b[1]))[:MOST_PLACES]


def _touch(one: Box, other: Box, gap: float) -> bool:
    apart = max(one[0] - other[2], other[0] - one[2], one[1] - other[3], other[1] - one[3])
    return apart <= gap
