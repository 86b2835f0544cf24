"""The art under text: how far a block's colour stands out of it, square by square.

Each line of a block is divided into squares of a quarter of its size, about the width of a letter's stroke and the room
beside it. The mean of a square says whether the art is light or dark there; the tenth of it that comes nearest to the
text's own luminance says whether it is at rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import Pixels
from reviews.press.text_check import Box, GroundFound, luminance

METHOD = "ground-1"
#: A square of the text's size divided by this; of fewer pixels than this across nothing could be told.
SQUARES_TO_A_SIZE = 4
_LEAST_PX = 2
#: A tenth of a square: a hair of a pencil line, which nobody minds under type, is less of it.
_TENTH = 10.0
_8_BIT = np.arange(256) / 255
_LINEAR = np.where(_8_BIT <= 0.04045, _8_BIT / 12.92, ((_8_BIT + 0.055) / 1.055) ** 2.4).astype(np.float32)
_WEIGHTS = (0.2126, 0.7152, 0.0722)

_Floats = NDArray[np.float32]


@dataclass(frozen=True, kw_only=True)
class GroundAsked:
    """One block as its letters stand on a picture: ``boxes`` line by line and its ``size`` as shares of the picture.

    Boxes are left, top, right, bottom; the size is a share of the picture's width.
    """

    block: int
    colour: str
    least: float
    size: float
    boxes: tuple[Box, ...]


def measure(picture_rgb: Pixels, asked: GroundAsked) -> GroundFound:
    """Measure the art under one block.

    Parameters
    ----------
    picture_rgb : (rows, columns, 3) uint8 in sRGB, the whole picture.

    Returns
    -------
    GroundFound; without squares where no line lies on the picture. A line that reaches over its edge is measured as far
    as it lies on it, and ``off`` says so.
    """
    rows, columns = picture_rgb.shape[:2]
    own = luminance(asked.colour)
    side = max(_LEAST_PX, round(asked.size * columns / SQUARES_TO_A_SIZE))
    worst, worst_at, n_busy, n_squares, off = 21.0, (0.0, 0.0, 0.0, 0.0), 0, 0, False
    for box in asked.boxes:
        left, top, right, bottom = _px(box, columns, rows)
        off = off or min(box[0], box[1]) < 0 or max(box[2], box[3]) > 1
        if right <= left or bottom <= top:
            continue
        squares = _squares(_luminance(picture_rgb[top:bottom, left:right]), side)
        means = _contrasts(own, squares.mean(axis=2))
        low, high = np.percentile(squares, (_TENTH, 100 - _TENTH), axis=2)
        n_busy += int((_contrasts(own, np.clip(own, low, high)) < asked.least).sum())
        n_squares += means.size
        row, column = np.unravel_index(int(means.argmin()), means.shape)
        if (lowest := float(means[row, column])) < worst:
            x, y = left + int(column) * side, top + int(row) * side
            worst = lowest
            worst_at = (x / columns, y / rows, min(right, x + side) / columns, min(bottom, y + side) / rows)
    return GroundFound(
        block=asked.block, least=asked.least, worst=round(worst, 3), worst_at=worst_at,
        busy=n_busy / n_squares if n_squares else 0.0, n_squares=n_squares, off=off,
    )  # fmt: skip


def measure_all(picture_rgb: Pixels, asked: Sequence[GroundAsked]) -> list[GroundFound]:
    """Measure the art under every block."""
    return [measure(picture_rgb, one) for one in asked]


def _px(box: Box, columns: int, rows: int) -> tuple[int, int, int, int]:
    left, top, right, bottom = box
    return (
        max(0, round(left * columns)), max(0, round(top * rows)),
        min(columns, round(right * columns)), min(rows, round(bottom * rows)),
    )  # fmt: skip


def _luminance(rgb: Pixels) -> _Floats:
    """Give the relative luminance of each pixel, in linear light (WCAG 2.2)."""
    linear = _LINEAR[rgb]
    light: _Floats = linear[..., 0] * _WEIGHTS[0] + linear[..., 1] * _WEIGHTS[1] + linear[..., 2] * _WEIGHTS[2]
    return light


def _squares(light: _Floats, side: int) -> _Floats:
    """Divide into squares: (rows, columns, pixels of a square); at an edge the last pixels stand for missing ones."""
    rows, columns = light.shape
    down, across = -(-rows // side), -(-columns // side)
    whole = np.pad(light, ((0, down * side - rows), (0, across * side - columns)), mode="edge")
    cut: _Floats = whole.reshape(down, side, across, side).swapaxes(1, 2).reshape(down, across, side * side)
    return cut


def _contrasts(own: float, light: NDArray[np.floating]) -> NDArray[np.floating]:
    """Give the contrast ratio with each luminance, by the formula of ``press.text_check.contrast``."""
    ratio: NDArray[np.floating] = (np.maximum(light, own) + 0.05) / (np.minimum(light, own) + 0.05)
    return ratio
