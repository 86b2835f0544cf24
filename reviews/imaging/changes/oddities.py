"""What is odd about a pair once it is laid: a negative, a photograph taken at an angle, a pattern that repeats."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import fft

from reviews.imaging.arrays import Complexes, Floats32, Matrix
from reviews.imaging.changes.blocks import matched, size_of
from reviews.imaging.changes.fields import PreparedPicture, reduced, resize_matrix
from reviews.imaging.changes.findings import Remark
from reviews.imaging.changes.warp import WarpedPair

_NEGATIVE = -0.5  # correlation of the two lightnesses: paint over a sketch has 0 to 0.6, its negative -0.9
_ANGLE, _BEND = 0.006, 0.004  # of the width: how far a view in perspective puts the corners, and how unevenly
_MORE_AGREE, _LEAST_BLOCKS, _NEAR_PX = 1.2, 40, 1.2
_REPEATS = 0.5  # correlation of a pattern with itself one repeat on; scenes of figures have under 0.3
_LEAST_REPEAT, _MOST_REPEAT = 0.02, 0.45  # of the width
_PATTERN_PX = 300
_NEARLY = 0.85


def is_negative(pair: WarpedPair) -> bool:
    """Whether what is light in one is dark in the other, all over."""
    seen = pair.inside
    if seen.sum() < 1000:
        return False
    one, other = (np.asarray(cv2.GaussianBlur(lab[..., 0], (0, 0), 1.5))[seen] for lab in (pair.lab_a, pair.lab_b))
    one, other = one - one.mean(), other - other.mean()
    norm = float(np.sqrt((one * one).sum() * (other * other).sum()))
    return norm > 0 and float((one * other).sum()) / norm < _NEGATIVE


@dataclass(frozen=True, eq=False)
class View:
    """The page in perspective: the map of the plane from A to B (3 x 3, working px); how far its corners are off."""

    a_to_b: Matrix
    percent: float  # of the width


@dataclass(frozen=True, eq=False)
class Witnesses:
    """Blocks all over the page, with where each is found in B once B was brought onto A by `a_to_b` (working pixels).

    `at` and `to` are (n, 2), px of A at half the working size; there are none where too few are found to be asked.
    """

    a_to_b: Matrix
    size: tuple[int, int]
    at: NDArray[np.float64]
    to: NDArray[np.float64]

    @property
    def are_enough(self) -> bool:
        return len(self.at) >= _LEAST_BLOCKS


def witnesses_of(a: PreparedPicture, b: PreparedPicture, a_to_b: Matrix) -> Witnesses:
    """Find blocks all over the page again in B; ``a_to_b`` maps working pixels."""
    za, zb = reduced(a.field.z, 0.5), reduced(b.field.z, 0.5)
    halved = resize_matrix(0.5)
    m = matched(za, zb, halved @ a_to_b @ np.linalg.inv(halved), block=48, stride=32, radius=10)
    good = m.score > 0.3
    return Witnesses(a_to_b, size_of(za), m.at[good], m.at[good] + m.shift[good])


def stretch_of(seen: Witnesses) -> float | None:
    """Return how much more B is stretched across than down, as the log of the ratio; None where few blocks agree."""
    if not seen.are_enough:
        return None
    cv2.setRNGSeed(1)  # the same pictures must give the same answer, whatever was looked at before
    flat, agree = cv2.estimateAffine2D(seen.at, seen.to, method=cv2.RANSAC, ransacReprojThreshold=_NEAR_PX)
    if flat is None or int(agree.sum()) < _LEAST_BLOCKS or min(flat[0, 0], flat[1, 1]) <= 0:
        return None
    return float(np.log(flat[0, 0] / flat[1, 1]))


def view_of(seen: Witnesses) -> View | None:
    """Tell whether B shows the page in perspective, and how.

    A view in perspective must explain plainly more of the blocks than the map that was found, and bend it, not only
    stretch it.
    """
    if not seen.are_enough:
        return None
    at, to = seen.at, seen.to
    cv2.setRNGSeed(1)  # the same pictures must give the same answer, whatever was looked at before
    view, _ = cv2.findHomography(at, to, cv2.RANSAC, _NEAR_PX)
    flat, _ = cv2.estimateAffine2D(at, to, method=cv2.RANSAC, ransacReprojThreshold=_NEAR_PX)
    if view is None or flat is None:
        return None
    width, height = seen.size
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float64)
    bowed, straight = _through(view, corners), corners @ flat[:, :2].T + flat[:, 2]
    off = float(np.hypot(*(bowed - corners).T).max()) / width
    bent = float(np.hypot(*(bowed - straight).T).mean()) / width
    agree = [int((np.hypot(*(guess - to).T) < _NEAR_PX).sum()) for guess in (_through(view, at), at)]
    if off < _ANGLE or bent < _BEND or agree[0] < _MORE_AGREE * agree[1]:
        return None
    halved = resize_matrix(0.5)
    whole = np.asarray(seen.a_to_b @ np.linalg.inv(halved) @ view @ halved, np.float64)
    return View(whole, round(100 * off, 1))


def _through(view: NDArray[Any], points: NDArray[Any]) -> NDArray[np.float64]:
    out = np.column_stack([points, np.ones(len(points))]) @ view.T
    return np.asarray(out[:, :2] / out[:, 2:], np.float64)


def repeating(picture: PreparedPicture, px_per_mm: float) -> Remark | None:
    """Say that a pattern repeats all over a picture, and after how many mm."""
    factor = _PATTERN_PX / max(picture.size)
    likeness = _with_itself(reduced(picture.field.z, factor))
    height, width = likeness.shape
    y, x = np.mgrid[0:height, 0:width]
    far = np.hypot(np.minimum(x, width - x), np.minimum(y, height - y))
    # A peak of its own: near the middle everything is like itself a little aside.
    is_top = likeness >= cv2.dilate(likeness, np.ones((5, 5), np.uint8))
    allowed = is_top & (far >= _LEAST_REPEAT * _PATTERN_PX) & (far <= _MOST_REPEAT * _PATTERN_PX)
    found = np.where(allowed, likeness, 0)
    if float(found.max()) < _REPEATS:
        return None
    # Every multiple of the repeat looks alike: the nearest that does nearly as well as the best is the repeat itself.
    nearest = float(far[found > _NEARLY * float(found.max())].min())
    return Remark("pattern-repeats", {"mm": round(nearest / factor / px_per_mm)})


def _with_itself(z: Complexes) -> Floats32:
    """Return the correlation of a field with itself at every shift, where half of it still overlaps."""
    height, width = z.shape
    size = (2 * height, 2 * width)
    spectrum = fft.fft2(z, size)
    both = fft.ifft2(np.abs(spectrum) ** 2).real
    power = np.abs(z) ** 2
    ones, weights = fft.fft2(np.ones((height, width), np.float32), size), fft.fft2(power, size)
    # What of the energy of either side takes part at each shift: a shift must not win by leaving the page.
    part = np.sqrt(np.maximum(fft.ifft2(weights * np.conj(ones)).real * fft.ifft2(np.conj(weights) * ones).real, 1e-9))
    kept = fft.ifft2(np.abs(ones) ** 2).real
    return np.asarray(np.where(kept > 0.5 * height * width, both / np.maximum(part, 1e-6), 0), np.float32)
