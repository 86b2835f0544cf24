"""Version B warped onto version A: both in A's working frame, freed of the hand's smooth drift.

The unit that matters here is the millimetre at print size; `px_per_mm` is that of A's working frame.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from reviews.imaging.arrays import Bools, Complexes, Floats32, Matrix
from reviews.imaging.changes.blocks import Matches, match_blocks
from reviews.imaging.changes.fields import PreparedPicture, fetch_field, inside_mask, one_complex, turn_of, two_channels

TOLERANCE_MM = 0.8  # how far a line may sit from its counterpart on a normally redrawn version
_DRIFT_WINDOW_MM, _DRIFT_REACH_MM, _DRIFT_SMOOTH_MM = 16.0, 1.25, 18.0
_NOISE_WINDOW_MM, _NOISE_REACH_MM = 14.0, 3.5
_RIM_MM = 2.0  # sheet edges and the scanner's bed are long strong lines: nothing is compared this near the border


@dataclass(frozen=True, eq=False, kw_only=True)
class WarpedPair:
    """A and B registered: every array is (rows, columns) of A's working frame, Lab ones with three channels more.

    `z…` are floored orientation fields, `zu…` those without the noise floor (|z| in 0..1); `strength_…` raw gradients
    in Lab units per px; `inside` where B covers A. `drift` is what was taken out of B, in px (rows, columns, 2: x, y);
    `zb_undrifted` is B before that.
    """

    za: Complexes
    zb: Complexes
    zua: Complexes
    zub: Complexes
    strength_a: Floats32
    strength_b: Floats32
    lab_a: Floats32
    lab_b: Floats32
    zb_undrifted: Complexes
    inside: Bools
    drift: Floats32
    px_per_mm: float
    redraw_mm: float  # noise of the hand, see `redraw_noise`
    looseness: float  # 1..3: what the tolerance is multiplied by

    @property
    def size(self) -> tuple[int, int]:
        return int(self.za.shape[1]), int(self.za.shape[0])

    @property
    def tolerance_mm(self) -> float:
        return TOLERANCE_MM * self.looseness


def warp_pair(a: PreparedPicture, b: PreparedPicture, a_to_b: Matrix, px_per_mm: float) -> WarpedPair:
    """Warp B onto A by `a_to_b` (3x3, working pixels) and take out smooth drift within the hand's own noise.

    The drift search is kept to 1.25 mm times the looseness: with 3 mm it swallowed real moves of 2-4 mm.
    """
    size = a.size
    inside = inside_mask(b.size, a_to_b, size, rim_px=max(1.0, _RIM_MM * px_per_mm))
    plain = fetch_field(b.field.z, a_to_b, size)
    noise = redraw_noise(a.field.z, plain, inside, px_per_mm)
    loose = float(np.clip(2 * noise / TOLERANCE_MM, 1, 3))
    drift = smooth_drift(a.field.z, plain, inside, px_per_mm, reach_mm=_DRIFT_REACH_MM * loose)
    maps = _lookup(a_to_b, drift, size)
    phase = np.exp(-2j * turn_of(a_to_b))
    zb, zub = (_fetched(z, maps) * phase for z in (b.field.z, b.field.zu))
    strength_b = _remap(b.field.strength, maps)
    return WarpedPair(
        za=a.field.z,
        zb=zb.astype(np.complex64),
        zua=a.field.zu,
        zub=zub.astype(np.complex64),
        strength_a=a.field.strength,
        strength_b=strength_b,
        lab_a=a.lab,
        lab_b=_remap(b.lab, maps),
        zb_undrifted=plain,
        inside=inside,
        drift=drift,
        px_per_mm=px_per_mm,
        redraw_mm=noise,
        looseness=loose,
    )


def _lookup(a_to_b: Matrix, drift: Floats32, size: tuple[int, int]) -> tuple[Floats32, Floats32]:
    x, y = np.meshgrid(np.arange(size[0], dtype=np.float32), np.arange(size[1], dtype=np.float32))
    x, y = x + drift[..., 0], y + drift[..., 1]
    m = a_to_b.astype(np.float32)
    return m[0, 0] * x + m[0, 1] * y + m[0, 2], m[1, 0] * x + m[1, 1] * y + m[1, 2]


def _remap(picture: Floats32, maps: tuple[Floats32, Floats32]) -> Floats32:
    return np.asarray(cv2.remap(picture, maps[0], maps[1], cv2.INTER_LINEAR), np.float32)


def _fetched(z: Complexes, maps: tuple[Floats32, Floats32]) -> Complexes:
    return one_complex(_remap(two_channels(z), maps))


def redraw_noise(a: Complexes, b_on_a: Complexes, inside: Bools, px_per_mm: float) -> float:
    """Return the hand's redraw noise in mm: the evenly weighted median of the block residuals after alignment.

    0.1-0.6 mm on ordinary pairs, over 0.8 mm when a figure is freely drawn again. Half of the page must be still.
    """
    block = max(12, round(_NOISE_WINDOW_MM * px_per_mm))
    m = match_blocks(a, b_on_a, inside, block=block, stride=block, radius=max(2, round(_NOISE_REACH_MM * px_per_mm)))
    good = m.score > 0.3
    if good.sum() < 6:
        return 0.3
    length = np.sqrt(np.maximum(np.einsum("ni,nij,nj->n", m.shift, m.info, m.shift), 0))[good]
    order = np.argsort(length, kind="stable")
    weight = np.cumsum(m.even[good][order])
    return float(length[order][int(np.searchsorted(weight, weight[-1] / 2))] / px_per_mm)


def smooth_drift(a: Complexes, b_on_a: Complexes, inside: Bools, px_per_mm: float, *, reach_mm: float) -> Floats32:
    """Return the smooth displacement (rows, columns, 2 in px) that brings B's lines onto A's, within `reach_mm`."""
    block = max(12, round(_DRIFT_WINDOW_MM * px_per_mm))
    m = match_blocks(
        a, b_on_a, inside, block=block, stride=max(4, block // 2), radius=max(2, round(reach_mm * px_per_mm) + 1)
    )
    height, width = a.shape
    step = 8
    grid = np.zeros((height // step + 1, width // step + 1, 5), np.float32)
    _vote(grid, m, step, reach_mm * px_per_mm)
    soft = cv2.GaussianBlur(grid, (0, 0), _DRIFT_SMOOTH_MM * px_per_mm / step)
    xx, xy, yy, dx, dy = (soft[..., i] for i in range(5))
    prior = np.float32(0.05 * float(max(1e-6, xx.max(), yy.max())))  # towards no drift where nothing was seen
    det = (xx + prior) * (yy + prior) - xy * xy
    flow = np.stack([((yy + prior) * dx - xy * dy) / det, ((xx + prior) * dy - xy * dx) / det], 2)
    flow = np.clip(flow, -reach_mm * px_per_mm, reach_mm * px_per_mm).astype(np.float32)
    return np.asarray(cv2.resize(flow, (width, height), interpolation=cv2.INTER_LINEAR), np.float32)


def _vote(grid: Floats32, m: Matches, step: int, reach_px: float) -> None:
    """Add each block's displacement and how surely it is known to the coarse grid."""
    for at, shift, info, score, rest in zip(m.at, m.shift, m.info, m.score, m.at_rest, strict=True):
        if score < 0.35 or np.hypot(*shift) > reach_px + 0.5:
            continue
        weight = score**2 * (1 if rest > 0.15 else 0.3)
        column, row = int(at[0] // step), int(at[1] // step)
        pull = info @ shift
        grid[row, column] += np.float32(weight) * np.array([info[0, 0], info[0, 1], info[1, 1], *pull], np.float32)
