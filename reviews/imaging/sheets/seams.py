"""Lay placed sheets over each other so that the seam is not seen: it avoids lines, and tone is evened across it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from reviews.geometry import Affine, Point, affine_from_rows
from reviews.imaging.arrays import Bools, Floats32, Pixels
from reviews.imaging.sheets.strips import enlarged, row_strips

Window = tuple[slice, slice]

# Fine detail changes hands over this many pixels: wide enough to hide grain, too narrow to double a line.
_NARROW_PX = 3.0
# Light and paper tone change hands over this share of the overlap's smaller extent.
_WIDE_SHARE = 0.25
# The seam is looked for at this size; between, it is straight.
_SEAM_PX = 700
# Local tone is taken over about this many pixels, at a tenth of the size.
_TONE_PX = 40.0
# Pixels from which the common paper tone of two sheets is taken.
# A sheet may be so much darker or lighter than its neighbour: a telephone's picture beside a scan is 1.7 in its blue.
_GAINS = (0.4, 2.5)
_TONE_SAMPLE = 1_000_000


@dataclass(frozen=True)
class Composed:
    """All sheets on one canvas, the maps into it, and which share of each sheet lies on those before it.

    ``bare_share`` is the share of the canvas on which no sheet lies: white wedges beside a sheet that lay crooked.
    """

    picture: Pixels
    maps: list[Affine]
    overlaps: list[float]
    bare_share: float


def white_canvas(height: int, width: int) -> Pixels:
    """Give a white canvas in memory, (height, width, 3) uint8."""
    return np.full((height, width, 3), 255, np.uint8)


def compose(
    sheets: Sequence[Pixels], placed: Sequence[Affine], canvas: Callable[[int, int], Pixels] = white_canvas
) -> Composed:
    """Put all sheets, (rows, columns, 3) uint8, onto one white canvas, made from its height and width in px."""
    corners = [
        place.apply(Point(x, y))
        for sheet, place in zip(sheets, placed, strict=True)
        for x in (-0.5, sheet.shape[1] - 0.5)
        for y in (-0.5, sheet.shape[0] - 0.5)
    ]
    # Whole pixels, so that the first sheet is carried over untouched.
    left, top = round(min(p.x for p in corners) + 0.5), round(min(p.y for p in corners) + 0.5)
    width = round(max(p.x for p in corners) + 0.5) - left
    height = round(max(p.y for p in corners) + 0.5) - top
    maps = [affine_from_rows([[1, 0, -left], [0, 1, -top]]).after(place) for place in placed]
    picture = canvas(height, width)
    covered = np.zeros((height, width), np.bool_)
    overlaps = [_add_sheet(picture, covered, sheet, to_canvas) for sheet, to_canvas in zip(sheets, maps, strict=True)]
    return Composed(picture, maps, overlaps, 1.0 - float(covered.mean()))


def _add_sheet(picture: Pixels, covered: Bools, sheet: Pixels, to_canvas: Affine) -> float:
    """Lay one more sheet over what is there, in place; gives the share of it that lies on what was there."""
    box = _box_of(sheet, to_canvas, covered.shape)
    warped, mask = _warped(sheet, to_canvas, box)
    # Views: what is written to them is written to the canvas.
    under, held = picture[box], covered[box]
    both = held & mask
    n_both = int(both.sum())
    if n_both:
        warped = _same_tone(under, warped, both)
        _meet(under, warped, held, mask, both)
    # Not by index: a list of places would need ten times the memory of the mask.
    np.copyto(under, warped, where=(mask & ~held)[..., None])
    held |= mask
    return n_both / max(1, int(mask.sum()))


def _box_of(sheet: Pixels, to_canvas: Affine, shape: tuple[int, ...]) -> Window:
    """The part of the canvas that a sheet can reach."""
    rows, columns = sheet.shape[:2]
    corners = [to_canvas.apply(Point(x, y)) for x in (-0.5, columns - 0.5) for y in (-0.5, rows - 0.5)]
    across, down = [p.x for p in corners], [p.y for p in corners]
    return (
        slice(max(0, int(min(down)) - 1), min(shape[0], int(max(down)) + 3)),
        slice(max(0, int(min(across)) - 1), min(shape[1], int(max(across)) + 3)),
    )


def _warped(sheet: Pixels, to_canvas: Affine, box: Window) -> tuple[Pixels, Bools]:
    size = (box[1].stop - box[1].start, box[0].stop - box[0].start)
    matrix = np.array(to_canvas.rows()) - np.array([[0, 0, box[1].start], [0, 0, box[0].start]])
    warped = cv2.warpAffine(sheet, matrix, size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    mask = cv2.warpAffine(np.full(sheet.shape[:2], 255, np.uint8), matrix, size) > 127
    return np.asarray(warped, np.uint8), mask


def _meet(under: Pixels, warped: Pixels, held: Bools, mask: Bools, both: Bools) -> None:
    """Write the overlap of two sheets: each on its side of the seam, blended along it."""
    window = _around(both)
    new = _belongs_to_new(under[window], warped[window], held[window], mask[window])
    _blend(under[window], warped[window], new, both[window])


def _around(both: Bools) -> Window:
    """The window of the overlap and a rim beyond it, where each sheet stands alone: the cut starts from there."""
    window = []
    for axis in (1, 0):
        held = np.nonzero(both.any(axis))[0]
        rim = 16 + (held[-1] - held[0]) // 10
        window.append(slice(max(0, int(held[0] - rim)), int(held[-1] + rim + 1)))
    return window[0], window[1]


def _same_tone(picture: Pixels, warped: Pixels, both: Bools) -> Pixels:
    """Bring a sheet to the tone of what lies under it: one factor per channel, from the paper they share."""
    step = max(1, round((int(both.sum()) / _TONE_SAMPLE) ** 0.5))
    shared = both[::step, ::step]
    if not shared.any():
        step, shared = 1, both
    under, over = picture[::step, ::step][shared], warped[::step, ::step][shared]
    bright = over.min(1) >= np.percentile(over.min(1), 50)
    gains = np.clip(np.median(under[bright], 0) / np.maximum(np.median(over[bright], 0), 1), *_GAINS)
    table = np.clip(np.arange(256)[:, None] * gains, 0, 255).round().astype(np.uint8)
    # In place: a second copy of a large sheet would be the most that is held at once.
    return np.asarray(cv2.LUT(warped, table[None], dst=warped), np.uint8)


def _belongs_to_new(picture: Pixels, warped: Pixels, covered: Bools, mask: Bools) -> Bools:
    """Cut the overlap where the two sheets differ least (a minimum cut, any shape); True on the new sheet's side."""
    shrink = min(1.0, _SEAM_PX / max(covered.shape))
    size = (max(8, round(covered.shape[1] * shrink)), max(8, round(covered.shape[0] * shrink)))
    small = [cv2.resize(image, size, interpolation=cv2.INTER_AREA).astype(np.float32) for image in (picture, warped)]
    masks = [cv2.resize(each.astype(np.uint8) * 255, size, interpolation=cv2.INTER_NEAREST) for each in (covered, mask)]
    finder: Any = cv2.detail.GraphCutSeamFinder("COST_COLOR")
    found: Any = finder.find(small, [(0, 0), (0, 0)], masks)[1]
    side = np.asarray(found.get() if isinstance(found, cv2.UMat) else found, np.uint8)
    full = cv2.resize(side, (covered.shape[1], covered.shape[0]), interpolation=cv2.INTER_LINEAR)
    chosen: Bools = np.where(covered & mask, np.asarray(full) > 127, mask & ~covered)
    return chosen


def _blend(picture: Pixels, warped: Pixels, new: Bools, both: Bools) -> None:
    """Blend tone over a wide band and detail over a narrow one, along the same seam; a few rows at a time."""
    size = (both.shape[1], both.shape[0])
    wide_small = _soft(new.astype(np.uint8) * 255, max(_NARROW_PX, _WIDE_SHARE * min(both.shape) / 2))
    tones = [_tone(image, both) for image in (picture, warped)]
    for strip in row_strips(both.shape[0], margin=round(4 * _NARROW_PX)):
        share = cv2.GaussianBlur(new[strip.seen].astype(np.float32), (0, 0), _NARROW_PX)
        narrow = share[strip.inner, :, None]
        wide = enlarged(wide_small, size, strip.rows)[..., None] / 255
        tone_one, tone_two = (enlarged(tone, size, strip.rows) for tone in tones)
        blended = tone_one * (1 - wide) + tone_two * wide
        blended += (picture[strip.rows] - tone_one) * (1 - narrow) + (warped[strip.rows] - tone_two) * narrow
        met = np.clip(blended, 0, 255).round().astype(np.uint8)
        np.copyto(picture[strip.rows], met, where=both[strip.rows][..., None])


def _soft(image: Pixels, sigma_px: float) -> Floats32:
    """Blur widely, left at a reduced size: enlarged it is the same to the eye, and a hundred times cheaper."""
    by = max(1.0, sigma_px / 4)
    size = (max(1, round(image.shape[1] / by)), max(1, round(image.shape[0] / by)))
    small = cv2.resize(image, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    return np.asarray(cv2.GaussianBlur(small, (0, 0), sigma_px / by), np.float32)


def _tone(image: Pixels, both: Bools) -> Floats32:
    """Local tone at a reduced size, counted over the overlap only, so that nothing leaks in from beyond a rim."""
    counted = np.maximum(_soft(both.astype(np.uint8) * 255, _TONE_PX) / 255, 1e-3)[..., None]
    return np.asarray(_soft(np.where(both[..., None], image, 0).astype(np.uint8), _TONE_PX) / counted, np.float32)
