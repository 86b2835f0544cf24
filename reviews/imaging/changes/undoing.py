"""Undo what happens to a picture on its way: turned by quarters, mirrored, squeezed, photographed at an angle."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from reviews.imaging.arrays import Matrix, Pixels


@dataclass(frozen=True, eq=False)
class Undone:
    """A picture put right, and the 3 x 3 map from its pixels back to those of the picture as it was given."""

    rgb: Pixels
    to_given: Matrix


def turned_and_mirrored(rgb: Pixels, turns: int, *, is_mirrored: bool) -> Undone:
    """Turn a picture by so many quarters to the left, and mirror it afterwards.

    What was turned to the right by that much, after it was mirrored, stands as it was drawn.
    """
    to_given: Matrix = np.eye(3)
    height, width = rgb.shape[:2]
    for _ in range(turns % 4):
        # Turned to the left, pixel (x, y) shows what stood at (last column - y, x).
        to_given = to_given @ np.array([[0, -1, width - 1], [1, 0, 0], [0, 0, 1]], np.float64)
        height, width = width, height
    out = np.rot90(rgb, turns % 4)
    if is_mirrored:
        to_given = to_given @ np.array([[-1, 0, width - 1], [0, 1, 0], [0, 0, 1]], np.float64)
        out = out[:, ::-1]
    return Undone(np.ascontiguousarray(out), to_given)


def resized(rgb: Pixels, width: int, height: int) -> Undone:
    """Give a picture another width and height, each by its own factor."""
    old_height, old_width = rgb.shape[:2]
    fx, fy = old_width / width, old_height / height
    out = cv2.resize(rgb, (width, height), interpolation=cv2.INTER_AREA)
    to_given = np.array([[fx, 0, (fx - 1) / 2], [0, fy, (fy - 1) / 2], [0, 0, 1]], np.float64)
    return Undone(np.asarray(out, np.uint8), to_given)


def straightened(rgb: Pixels, to_given: Matrix, size: tuple[int, int]) -> Undone:
    """Give a picture of `size` (width, height) whose pixels lie in the given one where a map in perspective says."""
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    out = cv2.warpPerspective(rgb, to_given, size, flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return Undone(np.asarray(out, np.uint8), np.asarray(to_given / to_given[2, 2], np.float64))


def nearest_affine(to_given: Matrix, size: tuple[int, int]) -> Matrix:
    """Return the affine map that comes nearest to one in perspective over a picture of `size`, and its 3 x 3 form."""
    x, y = (v.ravel() for v in np.meshgrid(np.linspace(0, size[0], 9), np.linspace(0, size[1], 9)))
    at = np.column_stack([x, y, np.ones(len(x))])
    seen = at @ to_given.T
    fitted, *_ = np.linalg.lstsq(at, seen[:, :2] / seen[:, 2:], rcond=None)
    return np.vstack([fitted.T, [0.0, 0.0, 1.0]])
