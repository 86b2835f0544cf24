"""A new version photographed at an angle: straightened where it is sure how, by what agrees or by the sheet's outline.

Seen at an angle a page is a quadrilateral, and a map of the plane in perspective makes a rectangle of it again. Two
witnesses give such a map: blocks all over the page that follow it better than any plain laying, and the outline of a
light sheet on its ground. Neither is believed until the straightened picture lies surely on the approved one.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from reviews.imaging.arrays import Floats64, Matrix, Pixels
from reviews.imaging.changes.fields import PreparedPicture, TooNarrow, prepare
from reviews.imaging.changes.findings import Alignment
from reviews.imaging.changes.oddities import View, view_of, witnesses_of
from reviews.imaging.changes.registration import align
from reviews.imaging.changes.undoing import Undone, straightened

METHOD = "straightened-photographs 1"
_ROUNDS = 3  # what is nearly straight shows more of the page to go by
_OUTLINE_PX = 700
_LEAST_SHEET, _LEAST_FILLED = 0.25, 0.94  # of the photograph, and of its own outline in four corners
_LEAST_STEP = 18.0  # Lab units between the sheet and its ground


@dataclass(frozen=True, eq=False)
class Straightened:
    """A photograph put straight, how it then lies, and how far the page's corners were off in per cent of the width."""

    undone: Undone
    picture: PreparedPicture
    found: Alignment
    percent: float


def straightened_by_blocks(
    a: PreparedPicture, b: PreparedPicture, b_rgb: Pixels, plain: Alignment, view: View
) -> Straightened | None:
    """Straighten a picture that lies on A, but in perspective; None where that does not make it lie better."""
    best: Straightened | None = None
    to_given, given_view, alignment = np.eye(3), view, plain
    picture = b
    for _ in range(_ROUNDS):
        matrix = _full(alignment)
        seen = np.linalg.inv(picture.to_work) @ given_view.a_to_b @ a.to_work
        to_given = to_given @ seen @ np.linalg.inv(matrix)
        undone = straightened(b_rgb, to_given, (b_rgb.shape[1], b_rgb.shape[0]))
        picture = prepare(undone.rgb)
        alignment = align(a, picture, wide=False)
        if not alignment.is_usable:
            break
        if alignment.state == "aligned" and alignment.readings[0].score > plain.readings[0].score:
            best = Straightened(undone, picture, alignment, view.percent)
        work = picture.to_work @ _full(alignment) @ np.linalg.inv(a.to_work)
        more = view_of(witnesses_of(a, picture, work))
        if more is None:
            return best
        given_view = more
    return None  # it is still bent: the map is not sure


def straightened_by_outline(a: PreparedPicture, b_rgb: Pixels) -> Straightened | None:
    """Straighten a picture of a whole light sheet on its ground, where the sheet then surely lies on A."""
    corners = sheet_corners(b_rgb)
    if corners is None:
        return None
    width = max(_side(corners, 0, 1), _side(corners, 3, 2))
    size = max(64, round(width)), max(64, round(width * a.full_size[1] / a.full_size[0]))
    flat = np.array([[0, 0], [size[0] - 1, 0], [size[0] - 1, size[1] - 1], [0, size[1] - 1]], np.float32)
    to_given = np.asarray(cv2.getPerspectiveTransform(flat, corners.astype(np.float32)), np.float64)
    undone = straightened(b_rgb, to_given, size)
    try:
        picture = prepare(undone.rgb)
        found = align(a, picture, wide=False)
    except TooNarrow:
        return None
    if found.state != "aligned":
        return None
    return Straightened(undone, picture, found, round(100 * _bend(corners), 1))


def sheet_corners(rgb: Pixels) -> Floats64 | None:
    """Return the corners (4, 2) of a light sheet that stands out of its ground, clockwise from the upper left."""
    factor = min(1.0, _OUTLINE_PX / max(rgb.shape[:2]))
    small = cv2.resize(rgb, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    light = cv2.GaussianBlur(cv2.cvtColor(small, cv2.COLOR_RGB2LAB)[..., 0], (0, 0), 2.0)
    level, mask = cv2.threshold(light, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    rim = np.concatenate([light[0], light[-1], light[:, 0], light[:, -1]])
    if float(np.median(light[mask > 0])) - float(np.median(rim)) < _LEAST_STEP or float(np.median(rim)) > level:
        return None
    side = max(3, round(0.02 * max(small.shape[:2])) | 1)
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((side, side), np.uint8))
    outlines, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    hull = cv2.convexHull(max(outlines, key=cv2.contourArea)) if outlines else None
    if hull is None or cv2.contourArea(hull) < _LEAST_SHEET * mask.size:
        return None
    around = cv2.arcLength(hull, True)
    for share in (0.01, 0.02, 0.03, 0.05):
        four = cv2.approxPolyDP(hull, share * around, True).reshape(-1, 2)
        if len(four) == 4 and cv2.contourArea(four) > _LEAST_FILLED * cv2.contourArea(hull):
            return np.asarray(_clockwise(np.asarray(four, np.float64)) / factor, np.float64)
    return None


def _clockwise(corners: Floats64) -> Floats64:
    middle = corners.mean(0)
    turned = corners[np.argsort(np.arctan2(*(corners - middle).T[::-1]))]
    first = int(np.argmin(turned.sum(1)))
    return np.roll(turned, -first, 0)


def _side(corners: Floats64, one: int, other: int) -> float:
    return float(np.hypot(*(corners[one] - corners[other])))


def _bend(corners: Floats64) -> float:
    """Return how far the corners are from a parallelogram's, as a share of the width."""
    off = corners[0] - corners[1] + corners[2] - corners[3]
    return float(np.hypot(*off)) / 2 / max(1.0, _side(corners, 0, 1))


def _full(alignment: Alignment) -> Matrix:
    return np.vstack([np.array(alignment.readings[0].a_to_b_px).reshape(2, 3), [0.0, 0.0, 1.0]])
