"""Where a small part of the page was turned or resized by so little that nearly every line still meets a counterpart.

A figure of 15 mm drawn a sixth smaller puts no line farther off than a hand does, so no line of it is loose. But its
lines go off *together*: small blocks all over the page are found in the other version, and where those of one
neighbourhood follow a turn or a resizing much better than any shift, something there was turned or resized.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import Floats64, Matrix
from reviews.imaging.changes.blocks import Matches, peaks_at, robust_similarity
from reviews.imaging.changes.fields import fetch_field
from reviews.imaging.changes.figure_growth import likeness
from reviews.imaging.changes.heaps import Heap
from reviews.imaging.changes.strokes import STRONG, ridges
from reviews.imaging.changes.warp import WarpedPair

METHOD = "local-strain 1"
_BLOCK_MM, _STRIDE_MM, _REACH_MM = 6.0, 3.0, 3.0
_LEAST_ENERGY, _LEAST_SCORE = 0.01, 0.4
_SIGMAS_MM = (4.0, 7.0, 11.0)  # of a neighbourhood
_NOISE_MM = 0.25  # of a block's displacement
_PRIOR = 0.05  # how far, in sizes and turns (rad), the hand itself strains a neighbourhood
_LEAST_STRAIN, _LEAST_GAIN, _MOST = 0.06, 4.0, 8
_REACHES, _LEAST_BLOCKS, _SETTLING_PX = 1.5, 4, (2.0, 1.2, 0.8)
_LEAST_RESIZE, _LEAST_TURN_DEG = 0.06, 4.0
_FOLLOWS, _FOLLOWS_MORE, _LEAST_FOLLOWING_MM = 0.45, 0.06, 6.0
_APART = 1.5  # two finds are nearer than so many sigmas: one place


@dataclass(frozen=True, eq=False, kw_only=True)
class Strained:
    """A neighbourhood (px of A) that follows a turn and a resizing; `gain` over any mere shift, in noise units."""

    x: float
    y: float
    radius_px: float
    motion: Matrix  # 3 x 3, working px of A
    gain: float

    @property
    def scale(self) -> float:
        return float(np.hypot(self.motion[0, 0], self.motion[1, 0]))

    @property
    def turn_deg(self) -> float:
        return float(np.rad2deg(np.arctan2(self.motion[1, 0], self.motion[0, 0])))


@dataclass(frozen=True, eq=False)
class _Blocks:
    at: Floats64
    shift: Floats64
    info: Floats64
    score: Floats64

    def settled(self, place: Strained) -> Strained:
        """Fit the motion of a neighbourhood again, leaving out what does not follow it."""
        apart = np.hypot(*(self.at - (place.x, place.y)).T)
        near = apart < _REACHES * place.radius_px
        m = Matches(
            at=self.at[near],
            shift=self.shift[near],
            info=self.info[near],
            score=self.score[near],
            at_rest=self.score[near],
            even=np.asarray(np.exp(-0.5 * (apart[near] / place.radius_px) ** 2), np.float64),
        )
        if len(m) < _LEAST_BLOCKS:
            return place
        fit = robust_similarity(m, _SETTLING_PX, (place.x, place.y), place.motion)
        return replace(place, motion=fit.correction)


def strained_places(pair: WarpedPair) -> list[Strained]:
    """Return the neighbourhoods that were turned or resized by a little, surest first."""
    k = pair.px_per_mm
    stride = max(3, round(_STRIDE_MM * k))
    at, shift, info, score = peaks_at(
        pair.za, pair.zb, pair.inside, block=max(8, round(_BLOCK_MM * k)), stride=stride,
        radius=max(3, round(_REACH_MM * k)), least=_LEAST_ENERGY,
    )  # fmt: skip
    good = score > _LEAST_SCORE
    if good.sum() < 8:
        return []
    height, width = pair.za.shape
    grid = np.zeros((height // stride + 1, width // stride + 1, 16), np.float64)
    _vote(grid, at[good], shift[good], info[good] * (score[good] ** 2)[:, None, None], stride)
    found = [one for sigma in _SIGMAS_MM for one in _peaks_of(grid, stride, sigma * k, k)]
    blocks = _Blocks(at[good], shift[good], info[good], score[good])
    settled = [blocks.settled(one) for one in _apart(found)]
    return [s for s in settled if abs(np.log(s.scale)) > _LEAST_RESIZE or abs(s.turn_deg) > _LEAST_TURN_DEG]


def followers(pair: WarpedPair, place: Strained) -> Heap | None:
    """Return the lines of A in a neighbourhood that follow its motion rather than stay; None where hardly any do."""
    k, (width, height) = pair.px_per_mm, pair.size
    reach = place.radius_px
    left, top = max(0, int(place.x - reach)), max(0, int(place.y - reach))
    right, bottom = min(width, int(place.x + reach) + 1), min(height, int(place.y + reach) + 1)
    here: Matrix = np.array([[1, 0, left], [0, 1, top], [0, 0, 1]], np.float64)
    moved = fetch_field(pair.zb, place.motion @ here, (right - left, bottom - top))
    mine, stays = pair.za[top:bottom, left:right], pair.zb[top:bottom, left:right]
    follows = likeness(mine, moved, k)
    more = follows > likeness(mine, stays, k) + _FOLLOWS_MORE
    rows, columns = np.nonzero(ridges(mine, STRONG) & (follows > _FOLLOWS) & more)
    if len(rows) < _LEAST_FOLLOWING_MM * k:
        return None
    return Heap(rows + top, columns + left, len(rows) / k)


def _vote(grid: Floats64, at: Floats64, shift: Floats64, info: Floats64, stride: int) -> None:
    """Add each block's normal equations for (a, b, dx, dy) about the page's origin, in strides."""
    x, y = at[:, 0] / stride, at[:, 1] / stride
    jac = np.zeros((len(at), 2, 4))
    jac[:, 0, 0], jac[:, 0, 1], jac[:, 0, 2] = x, -y, 1
    jac[:, 1, 0], jac[:, 1, 1], jac[:, 1, 3] = y, x, 1
    seen = np.einsum("nia,nij->naj", jac, info)
    normal, pull = np.einsum("naj,njb->nab", seen, jac), np.einsum("naj,nj->na", seen, shift)
    rest = np.einsum("ni,nij,nj->n", shift, info, shift)
    upper = np.triu_indices(4)
    rows, columns = np.round(y).astype(int), np.round(x).astype(int)
    np.add.at(grid, (rows, columns), np.column_stack([normal[:, upper[0], upper[1]], pull, rest, np.ones(len(at))]))


def _peaks_of(grid: Floats64, stride: int, sigma_px: float, k: float) -> list[Strained]:
    wide = sigma_px / stride
    parts = [cv2.GaussianBlur(grid[..., i : i + 4], (0, 0), wide) for i in (0, 4, 8, 12)]
    soft: Floats64 = np.concatenate(parts, 2).astype(np.float64) * (2 * np.pi * wide**2)  # sums, not means
    rows, columns = np.nonzero(soft[..., 15] > 3)
    if not len(rows):
        return []
    a, b, dx, dy, gain = _fitted(soft[rows, columns], columns, rows, stride, k)
    strain = np.hypot(a, b)
    dense = np.zeros(grid.shape[:2], np.float32)
    dense[rows, columns] = np.where(strain > _LEAST_STRAIN, gain, 0)
    top = dense >= cv2.dilate(dense, np.ones((5, 5), np.uint8))
    out = []
    for i in np.nonzero(top[rows, columns] & (dense[rows, columns] > _LEAST_GAIN))[0]:
        x, y = float(columns[i] * stride), float(rows[i] * stride)
        c, s = 1 + a[i], b[i]
        motion: Matrix = np.array(
            [[c, -s, x + dx[i] - c * x + s * y], [s, c, y + dy[i] - s * x - c * y], [0, 0, 1]], np.float64
        )
        out.append(Strained(x=x, y=y, radius_px=1.5 * sigma_px, motion=motion, gain=float(gain[i])))
    return out


def _fitted(
    sums: Floats64, columns: NDArray[np.int64], rows: NDArray[np.int64], stride: int, k: float
) -> tuple[Floats64, ...]:
    """Solve each neighbourhood about its own middle; `gain` is what turn and size explain of it, in noise units."""
    n = len(sums)
    normal = np.zeros((n, 4, 4))
    upper = np.triu_indices(4)
    normal[:, upper[0], upper[1]] = sums[:, :10]
    normal[:, upper[1], upper[0]] = sums[:, :10]
    # From the page's origin to the neighbourhood's middle: J about the origin is J about the middle times a shear.
    move = np.tile(np.eye(4), (n, 1, 1))
    x, y = columns.astype(float), rows.astype(float)
    move[:, 0, 2], move[:, 0, 3], move[:, 1, 2], move[:, 1, 3] = -x, -y, y, -x
    normal = np.einsum("nab,nbc,ndc->nad", move, normal, move)
    pull = np.einsum("nab,nb->na", move, sums[:, 10:14])
    unit = _NOISE_MM * k
    prior = (unit / (_PRIOR * stride)) ** 2
    held = normal + np.diag([prior, prior, 1e-3, 1e-3])
    full = np.linalg.solve(held, pull[..., None])[..., 0]
    shifts = np.linalg.solve(held[:, 2:, 2:], pull[:, 2:, None])[..., 0]
    gain = (np.einsum("na,na->n", full, pull) - np.einsum("na,na->n", shifts, pull[:, 2:])) / unit**2
    left = np.maximum(sums[:, 14] - np.einsum("na,na->n", full, pull), 0) / unit**2
    return full[:, 0] / stride, full[:, 1] / stride, full[:, 2], full[:, 3], gain / (1 + 0.25 * left)


def _apart(found: list[Strained]) -> list[Strained]:
    kept: list[Strained] = []
    for one in sorted(found, key=lambda s: -s.gain):
        if all(np.hypot(one.x - o.x, one.y - o.y) > _APART * max(one.radius_px, o.radius_px) / 1.5 for o in kept):
            kept.append(one)
    return kept[:_MOST]
