"""Lay placed sheets over each other so that the seam is not seen: it avoids lines, and tone is evened across it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.geometry import Affine, Point, affine_from_rows

Pixels = NDArray[np.uint8]
Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]

# Fine detail changes hands over this many pixels: wide enough to hide grain, too narrow to double a line.
_NARROW_PX = 3.0
# Light and paper tone change hands over this share of the overlap's smaller extent.
_WIDE_SHARE = 0.25
# The seam is looked for at this size; between, it is straight.
_SEAM_PX = 700


def compose(sheets: Sequence[Pixels], placed: Sequence[Affine]) -> tuple[Pixels, list[Affine]]:
    """Lay all sheets onto one canvas; gives the picture and the maps into it."""
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
    picture = np.full((height, width, 3), 255, np.uint8)
    covered = np.zeros((height, width), np.bool_)
    for sheet, carry in zip(sheets, maps, strict=True):
        laid, mask = _laid(sheet, carry, width, height)
        picture = _merge(picture, covered, laid, mask)
        covered |= mask
    return picture, maps


def _laid(sheet: Pixels, carry: Affine, width: int, height: int) -> tuple[Pixels, Mask]:
    matrix = np.array(carry.rows())
    laid = cv2.warpAffine(sheet, matrix, (width, height), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    mask = cv2.warpAffine(np.full(sheet.shape[:2], 255, np.uint8), matrix, (width, height)) > 127
    return np.asarray(laid, np.uint8), mask


def _merge(picture: Pixels, covered: Mask, laid: Pixels, mask: Mask) -> Pixels:
    """Lay one more sheet over what is there."""
    both = covered & mask
    alone = mask & ~covered
    result = picture.copy()
    if not both.any():
        result[alone] = laid[alone]
        return result
    window = _around(both)
    laid = _same_tone(picture, laid, both)
    result[alone] = laid[alone]
    new = _belongs_to_new(picture[window], laid[window], covered[window], mask[window])
    blended = _two_bands(picture[window], laid[window], new, both[window])
    result[window] = np.where(both[window][..., None], blended, result[window])
    return result


def _around(both: Mask) -> tuple[slice, slice]:
    """The window of the overlap and a rim beyond it, where each sheet stands alone: the cut starts from there."""
    window = []
    for axis in (1, 0):
        held = np.nonzero(both.any(axis))[0]
        rim = 16 + (held[-1] - held[0]) // 10
        window.append(slice(max(0, int(held[0] - rim)), int(held[-1] + rim + 1)))
    return window[0], window[1]


def _same_tone(picture: Pixels, laid: Pixels, both: Mask) -> Pixels:
    """Bring a sheet to the tone of what lies under it: one factor per channel, from the paper they share."""
    under, over = (image[both].astype(np.float32) for image in (picture, laid))
    bright = over.min(1) >= np.percentile(over.min(1), 50)
    gains = np.clip(np.median(under[bright], 0) / np.maximum(np.median(over[bright], 0), 1), 0.7, 1.4)
    table = np.clip(np.arange(256)[:, None] * gains, 0, 255).round().astype(np.uint8)
    return np.asarray(cv2.LUT(laid, table[None]), np.uint8)


def _belongs_to_new(picture: Pixels, laid: Pixels, covered: Mask, mask: Mask) -> Mask:
    """Cut the overlap where the two sheets differ least (a minimum cut, any shape); True on the new sheet's side."""
    shrink = min(1.0, _SEAM_PX / max(covered.shape))
    size = (max(8, round(covered.shape[1] * shrink)), max(8, round(covered.shape[0] * shrink)))
    small = [cv2.resize(image, size, interpolation=cv2.INTER_AREA).astype(np.float32) for image in (picture, laid)]
    masks = [
        cv2.resize(each.astype(np.uint8) * 255, size, interpolation=cv2.INTER_NEAREST) for each in (covered, mask)
    ]
    finder: Any = cv2.detail.GraphCutSeamFinder("COST_COLOR")
    found: Any = finder.find(small, [(0, 0), (0, 0)], masks)[1]
    side = np.asarray(found.get() if isinstance(found, cv2.UMat) else found, np.uint8)
    full = cv2.resize(side, (covered.shape[1], covered.shape[0]), interpolation=cv2.INTER_LINEAR)
    chosen: Mask = np.where(covered & mask, np.asarray(full) > 127, mask & ~covered)
    return chosen


def _two_bands(picture: Pixels, laid: Pixels, new: Mask, both: Mask) -> Pixels:
    """Blend tone over a wide band and detail over a narrow one, along the same seam."""
    wide_px = max(_NARROW_PX, _WIDE_SHARE * min(both.shape) / 2)
    share = new.astype(np.float32)
    narrow = cv2.GaussianBlur(share, (0, 0), _NARROW_PX)[..., None]
    wide = _soft(share, wide_px)[..., None]
    one, two = picture.astype(np.float32), laid.astype(np.float32)
    tone_one, tone_two = _tone(one, both), _tone(two, both)
    tone = tone_one * (1 - wide) + tone_two * wide
    detail = (one - tone_one) * (1 - narrow) + (two - tone_two) * narrow
    return np.asarray(np.clip(tone + detail, 0, 255).round(), np.uint8)


def _soft(image: Floats, sigma_px: float) -> Floats:
    """Blur widely at a reduced size; the same to the eye, and a hundred times cheaper."""
    by = max(1.0, sigma_px / 4)
    size = (max(1, round(image.shape[1] / by)), max(1, round(image.shape[0] / by)))
    small = cv2.GaussianBlur(cv2.resize(image, size, interpolation=cv2.INTER_AREA), (0, 0), sigma_px / by)
    return np.asarray(cv2.resize(small, image.shape[1::-1], interpolation=cv2.INTER_LINEAR), np.float32)


def _tone(image: Floats, both: Mask) -> Floats:
    """Local tone, counted over the overlap only, so that what lies beyond a rim does not leak in."""
    weight = both.astype(np.float32)
    counted = np.maximum(_soft(weight, 40.0), 1e-3)[..., None]
    return np.asarray(_soft(image * weight[..., None], 40.0) / counted, np.float32)
