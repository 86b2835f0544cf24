"""The orientation field: what pencil, ink and paint of one drawing have in common.

Every comparison of two versions runs on it. The angle of the local gradient is doubled, so both flanks of a line
and the edge of a painted shape give the same value, while colour and polarity drop out; the length of the complex
number says how strong and how coherent the structure is.
Reference: structure tensor, Bigun and Granlund 1987; Knutsson's double-angle representation, 1989.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import Complexes, Floats32, Matrix, Pixels

# Sums must be made in the same order every time, or the same two pictures would not give the same numbers.
cv2.setNumThreads(1)

WORK_PX = 1200  # longest side while working; 1600 px gained nothing in the study and costs half as much again
_PRE_BLUR_PX = 1.0
_TENSOR_BLUR_PX = 1.5
_CONTRAST_BLUR_PX = 24.0


@dataclass(frozen=True, eq=False)
class Field:
    """z: floored field, |z| in 0..1; zu: the same without the noise floor; strength: raw gradient in Lab per px."""

    z: Complexes
    zu: Complexes
    strength: Floats32

    @property
    def shape(self) -> tuple[int, int]:
        return int(self.z.shape[0]), int(self.z.shape[1])


@dataclass(frozen=True, eq=False)
class PreparedPicture:
    """One picture ready to be compared: reduced to the working size, as Lab and as field."""

    lab: Floats32
    field: Field
    full_size: tuple[int, int]  # width, height of the picture that came in
    factor: float  # working size over full size

    @property
    def size(self) -> tuple[int, int]:
        return int(self.lab.shape[1]), int(self.lab.shape[0])

    @property
    def to_work(self) -> Matrix:
        """Return the map from pixels of the whole picture to working pixels, middles of pixels to middles."""
        return resize_matrix(self.factor)


def resize_matrix(factor: float) -> Matrix:
    """Return the 3x3 map of a resize by `factor`: x' = f x + (f - 1) / 2.

    One factor for both axes, never the ratio of two rounded sizes: at 150 px that ratio is off by up to 0.4 %,
    and a similarity fitted afterwards can no longer take it out.
    """
    return np.array([[factor, 0, (factor - 1) / 2], [0, factor, (factor - 1) / 2], [0, 0, 1]], np.float64)


class TooNarrow(ValueError):
    """A picture so long and narrow that, reduced to the working size, nothing could be compared."""


def prepare(rgb: Pixels, *, work_px: int = WORK_PX) -> PreparedPicture:
    """Reduce an RGB uint8 picture (rows, columns, 3) to the working size and compute its field."""
    if rgb.ndim != 3 or rgb.shape[2] != 3 or rgb.dtype != np.uint8:
        raise ValueError("A picture must be an array of rows, columns and three 8-bit channels.")
    height, width = rgb.shape[:2]
    factor = work_px / max(height, width)
    if min(height, width) * factor < 16:
        raise TooNarrow(f"The short side has {min(height, width) * factor:.1f} working pixels.")
    way = cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC
    small = cv2.resize(rgb, None, fx=factor, fy=factor, interpolation=way)
    lab = np.asarray(cv2.cvtColor(np.asarray(small, np.float32) / np.float32(255), cv2.COLOR_RGB2LAB), np.float32)
    return PreparedPicture(lab, orientation_field(lab), (width, height), factor)


def orientation_field(lab: Floats32) -> Field:
    """Compute the field of a float Lab picture (rows, columns, 3; L 0..100)."""
    soft = cv2.GaussianBlur(lab, (0, 0), _PRE_BLUR_PX)
    gx = cv2.Scharr(soft, cv2.CV_32F, 1, 0, scale=1 / 32)
    gy = cv2.Scharr(soft, cv2.CV_32F, 0, 1, scale=1 / 32)
    tensor = np.stack([(gx * gx).sum(2), (gy * gy).sum(2), (gx * gy).sum(2)], 2)
    tensor = np.asarray(cv2.GaussianBlur(tensor, (0, 0), _TENSOR_BLUR_PX), np.float32)
    energy = tensor[..., 0] + tensor[..., 1]
    strength = np.sqrt(energy)
    floor = float(np.percentile(strength[::2, ::2], 40)) + 0.15
    around = np.sqrt(_wide_blur(energy)) + 2 * floor
    angle = (tensor[..., 0] - tensor[..., 1] + 2j * tensor[..., 2]) / np.maximum(energy, 1e-12)
    gain = np.minimum(1.5, np.maximum(strength - 1.5 * floor, 0) / around) / 1.5
    gain_u = np.minimum(1.5, strength / around) / 1.5
    return Field(
        (angle * gain).astype(np.complex64), (angle * gain_u).astype(np.complex64), strength.astype(np.float32)
    )


def _wide_blur(energy: Floats32) -> Floats32:
    """Return the 24 px Gaussian of the energy, at a quarter of the size: it is too smooth to tell, and 16x cheaper."""
    height, width = energy.shape
    small = cv2.resize(energy, (max(4, width // 4), max(4, height // 4)), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), _CONTRAST_BLUR_PX / 4)
    return np.maximum(np.asarray(cv2.resize(small, (width, height)), np.float32), 0)


def two_channels(z: Complexes) -> Floats32:
    """Return the field as real and imaginary channels (rows, columns, 2), as OpenCV wants it."""
    return np.asarray(np.ascontiguousarray(z).view(np.float32).reshape(*z.shape, 2), np.float32)


def one_complex(channels: Floats32) -> Complexes:
    """Return (rows, columns, 2) channels as a complex field: the way back of `two_channels`."""
    return np.asarray(np.ascontiguousarray(channels, np.float32).view(np.complex64)[..., 0], np.complex64)


def turn_of(matrix: Matrix) -> float:
    """Return the turn in radians of a similarity (for an affine map, of its nearest similarity)."""
    return float(np.arctan2(matrix[1, 0] - matrix[0, 1], matrix[0, 0] + matrix[1, 1]))


def fetch_field(z: Complexes, a_to_b: Matrix, size: tuple[int, int]) -> Complexes:
    """Bring B's field into A's frame of `size` (width, height in px) by a 3x3 map; outside B it is 0.

    The phase turns back by twice the turn of the map: forgetting that goes unseen at 1 degree and ruins 20.
    """
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    moved = cv2.warpAffine(two_channels(z), a_to_b[:2], size, flags=flags)
    turned = one_complex(np.asarray(moved, np.float32)) * np.exp(-2j * turn_of(a_to_b))
    return np.asarray(turned, np.complex64)


def fetch_plain(picture: Floats32, a_to_b: Matrix, size: tuple[int, int], *, outside: float = 0.0) -> Floats32:
    """Bring any float picture of B, with channels or without, into A's frame of `size` (width, height in px)."""
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    value = (outside,) * 4
    return np.asarray(cv2.warpAffine(picture, a_to_b[:2], size, flags=flags, borderValue=value), np.float32)


def inside_mask(
    b_size: tuple[int, int], a_to_b: Matrix, size: tuple[int, int], *, rim_px: float = 0.0
) -> NDArray[np.bool_]:
    """Return which pixels of A's frame lie inside B and at least `rim_px` (in A) from both borders."""
    full = np.ones((b_size[1], b_size[0]), np.float32)
    inside = fetch_plain(full, a_to_b, size) > 0.5
    if rim_px <= 0:
        return np.asarray(inside, bool)
    padded = cv2.copyMakeBorder(inside.astype(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=(0,))
    return np.asarray(cv2.distanceTransform(padded, cv2.DIST_L2, 3)[1:-1, 1:-1] > rim_px, bool)


def reduced(z: Complexes, factor: float) -> Complexes:
    """Return the field (rows, columns) made smaller by `factor`, blurred first: phases must not alias."""
    if factor >= 1:
        return z
    soft = cv2.GaussianBlur(two_channels(z), (0, 0), 0.4 / factor)
    return one_complex(
        np.asarray(cv2.resize(soft, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA), np.float32)
    )
