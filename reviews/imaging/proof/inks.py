"""Ink on the pixels: where the total is over the limit, and where thin black is built from several inks.

Works on strips of 8-bit CMYK, so memory does not grow with the picture. The picture is divided into square cells of
about a speck's size; a cell is over where most of its pixels are, so that a stray pixel or a hairline of overlap counts
for nothing. Cells that touch are one place.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import Bools, Floats32, Pixels

METHOD = "inks-1"
STRIP_ROWS = 256
MOST_PLACES = 40
# More than half of a cell over the limit is a place, not a speck.
_MOST_OF_A_CELL = 0.5
# Black line of several inks: nearly full black with this much of the three others under it (per cent).
_BLACK, _UNDER = 80.0, 60.0
# A line is darker than what is around it by this much of the black plate (per cent).
_OUT = 50.0
# Share of a cell that thin black must fill to be pointed at: two strokes of half a millimetre crossing a cell of 2 mm.
_LINE_OF_A_CELL = 0.06
_PER_CENT = 100.0 / 255.0


@dataclass(frozen=True, kw_only=True)
class InkCells:
    """What was measured, on a grid of cells: (rows, columns) each."""

    highest: float  # per cent of 400, the highest mean of a whole cell
    over: Floats32  # share of each cell that is over the limit
    thin: Floats32  # share of each cell that is thin black of several inks
    cell_px: int
    width_px: int
    height_px: int


def measure(
    strip: Callable[[int, int], Pixels], width_px: int, height_px: int, px_per_mm: float, *, limit: float,
    speck_mm: float, thin_mm: float,
) -> InkCells:  # fmt: skip
    """Measure a picture strip by strip.

    Parameters
    ----------
    strip : gives the rows from a top to before a bottom as (rows, columns, 4) uint8, cyan first, 255 for full ink.
    px_per_mm : at print size.
    limit : total ink in per cent of 400.

    Returns
    -------
    InkCells; the last row and column of cells may stand for less than a whole cell, and are judged by what they have.
    """
    cell = max(1, round(speck_mm * px_per_mm))
    rows, columns = -(-height_px // cell), -(-width_px // cell)
    over, thin = np.zeros((rows, columns), np.float32), np.zeros((rows, columns), np.float32)
    highest = 0.0
    # Whole cells at a time, so that a cell is never cut by a strip; what is thin is judged with some rows around.
    step = max(1, STRIP_ROWS // cell) * cell
    thin_px = max(2, round(thin_mm * px_per_mm))
    around = thin_px + 1
    for top in range(0, height_px, step):
        count = min(step, height_px - top)
        above, below = min(around, top), min(around, height_px - top - count)
        pixels = strip(top - above, top + count + below)
        inner = pixels[above : above + count]
        total = _summed(inner, 4)
        at = top // cell
        means = _cells(total.astype(np.float32), cell)
        highest = max(highest, float(means.max()) * _PER_CENT)
        here = slice(at, at + means.shape[0])
        # Half a level of 255 is nought: a file that says 300 per cent exactly is not over 300.
        over[here] = _cells((total > limit / _PER_CENT + 0.75).astype(np.float32), cell)
        thin[here] = _cells(_thin_black(pixels, thin_px)[above : above + count].astype(np.float32), cell)
    return InkCells(highest=highest, over=over, thin=thin, cell_px=cell, width_px=width_px, height_px=height_px)


def _summed(pixels: Pixels, n_inks: int) -> NDArray[np.uint16]:
    """Add up the first inks; channel by channel, since a sum over so short an axis is slow."""
    total = pixels[..., 0].astype(np.uint16)
    for ink in range(1, n_inks):
        total += pixels[..., ink]
    return total


def _cells(values: Floats32, cell: int) -> Floats32:
    """Average squares of a side; at the edge, what there is of them."""
    rows, columns = values.shape
    down = np.add.reduceat(values, np.arange(0, rows, cell), axis=0)
    both = np.add.reduceat(down, np.arange(0, columns, cell), axis=1)
    heights = np.minimum(cell, rows - np.arange(0, rows, cell)).astype(np.float32)
    widths = np.minimum(cell, columns - np.arange(0, columns, cell)).astype(np.float32)
    means: Floats32 = (both / (heights[:, None] * widths[None, :])).astype(np.float32)
    return means


def _thin_black(pixels: Pixels, thin_px: int) -> Bools:
    """Find black of several inks that stands out of its surroundings, where a square of the thin width does not fit.

    What stands out is told by the white top-hat of the black plate (the plate less its opening; Serra 1982): soft dark
    art has none, and of a large solid only the corners.
    """
    black: Bools = pixels[..., 3] >= _BLACK / _PER_CENT
    if not black.any():
        return black
    black &= _summed(pixels, 3) >= _UNDER / _PER_CENT
    plate = np.ascontiguousarray(pixels[..., 3])
    square = np.ones((thin_px, thin_px), np.uint8)
    stands_out = cv2.morphologyEx(plate, cv2.MORPH_TOPHAT, square, borderType=cv2.BORDER_REPLICATE)
    return black & (stands_out >= _OUT / _PER_CENT)


def places(cells: InkCells, shares: Floats32, least: float) -> list[tuple[float, float, float, float]]:
    """Gather cells that touch into boxes, as fractions of the picture, largest first."""
    n, _, boxes, _ = cv2.connectedComponentsWithStats((shares > least).astype(np.uint8), connectivity=8)
    found = sorted((tuple(int(v) for v in boxes[i, :5]) for i in range(1, n)), key=lambda box: -box[4])
    return [
        (
            left * cells.cell_px / cells.width_px,
            top * cells.cell_px / cells.height_px,
            min(1.0, (left + width) * cells.cell_px / cells.width_px),
            min(1.0, (top + height) * cells.cell_px / cells.height_px),
        )
        for left, top, width, height, _ in found[:MOST_PLACES]
    ]


def over_limit(cells: InkCells) -> tuple[float, list[tuple[float, float, float, float]]]:
    """Give the share of the picture over the limit, specks left out, and its places."""
    counted = cells.over > _MOST_OF_A_CELL
    return float(np.where(counted, cells.over, 0).mean()), places(cells, cells.over, _MOST_OF_A_CELL)


def thin_black(cells: InkCells) -> tuple[float, list[tuple[float, float, float, float]]]:
    """Give the share of the picture that is thin black of several inks, and its places."""
    return float(cells.thin.mean()), places(cells, cells.thin, _LINE_OF_A_CELL)
