"""Block displacements between two fields, and the robust similarity that most of the page agrees on."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import Complexes, Floats64, Matrix
from reviews.imaging.changes.fields import fetch_field, inside_mask, two_channels

# Along a smooth line the correlation hardly falls, and its top slides by pixels on noise alone. Curvature under
# this share of the steepest is no evidence (without it, blocks on hill lines pulled the page by 0.1-0.2 %).
_BLIND = 0.10


@dataclass(frozen=True, eq=False, kw_only=True)
class Matches:
    """One row per block: middle and displacement (x, y in px of A), how surely in which direction, and weights."""

    at: Floats64  # (n, 2)
    shift: Floats64  # (n, 2)
    info: Floats64  # (n, 2, 2), largest eigenvalue 1: a block on a straight line votes only across the line
    score: Floats64  # (n,) correlation of the best match, 0..1
    at_rest: Floats64  # (n,) correlation without any shift
    even: Floats64  # (n,) weight that makes a crowded corner count no more than a quiet one; sums to 1

    def __len__(self) -> int:
        return len(self.at)


@dataclass(frozen=True, eq=False)
class Fit:
    correction: Matrix  # 3x3, in px of A
    agreeing: Floats64  # (n,) robust weight of each block, 0..1
    covariance: Floats64  # (4, 4) of (a, b, dx, dy) about the page's middle


def size_of(z: Complexes) -> tuple[int, int]:
    """Return width and height of a field in px."""
    return int(z.shape[1]), int(z.shape[0])


def middle_of(z: Complexes) -> tuple[float, float]:
    """Return the middle (x, y) of a field in px, counted from the middle of its first pixel."""
    return (z.shape[1] - 1) / 2, (z.shape[0] - 1) / 2


def matched(a: Complexes, b: Complexes, a_to_b: Matrix, *, block: int, stride: int, radius: int) -> Matches:
    """Find each block of A (rows, columns) in B near where the 3x3 map puts it; all lengths in px."""
    size = size_of(a)
    on_a, inside = fetch_field(b, a_to_b, size), inside_mask(size_of(b), a_to_b, size)
    return match_blocks(a, on_a, inside, block=block, stride=stride, radius=radius)


def match_blocks(
    a: Complexes,
    b_on_a: Complexes,
    inside: NDArray[np.bool_],
    *,
    block: int,
    stride: int,
    radius: int,
    least: float = 0.0025,
) -> Matches:
    """Find each block of A in B (already fetched into A's frame) within `radius` px.

    Blocks with a mean |z|^2 under `least`, or not mostly inside B, are left out.
    """
    places, peaks = _found_blocks(a, b_on_a, inside, block=block, stride=stride, radius=radius, least=least)
    return _gather(np.column_stack([places, peaks]), a.shape[1])


def peaks_at(
    a: Complexes, b_on_a: Complexes, inside: NDArray[np.bool_], *, block: int, stride: int, radius: int, least: float
) -> tuple[Floats64, Floats64, Floats64, Floats64]:
    """Find blocks as `match_blocks` does, without weighing them against each other: at, shift, info, score."""
    places, rows = _found_blocks(a, b_on_a, inside, block=block, stride=stride, radius=radius, least=least)
    info = np.stack([rows[:, [2, 3]], rows[:, [3, 4]]], 1)
    return places, rows[:, :2], info, np.asarray(np.clip(rows[:, 5], 0, 1), np.float64)


def _found_blocks(
    a: Complexes, b_on_a: Complexes, inside: NDArray[np.bool_], *, block: int, stride: int, radius: int, least: float
) -> tuple[Floats64, Floats64]:
    """Return the middle of each block that can be looked for, and its row of `_peaks`."""
    height, width = a.shape
    pictures = two_channels(a), two_channels(b_on_a)
    energy = cv2.boxFilter(np.abs(a).astype(np.float32) ** 2, -1, (block, block))
    cover = cv2.boxFilter(inside.astype(np.float32), -1, (block, block))
    half, places, tables = block // 2, [], []
    for y in range(radius, height - block - radius + 1, stride):
        for x in range(radius, width - block - radius + 1, stride):
            if energy[y + half, x + half] < least or cover[y + half, x + half] < 0.8:
                continue
            part = pictures[0][y : y + block, x : x + block]
            around = pictures[1][y - radius : y + block + radius, x - radius : x + block + radius]
            tables.append(cv2.matchTemplate(around, part, cv2.TM_CCORR_NORMED))
            places.append((x + (block - 1) / 2, y + (block - 1) / 2))
    side = 2 * radius + 1
    peaks = _peaks(np.array(tables, np.float64).reshape(-1, side, side))
    return np.array(places, np.float64).reshape(-1, 2), peaks


def _peaks(found: Floats64) -> Floats64:
    """Return a row per correlation table (n, side, side): dx, dy, information (xx, xy, yy), score, score at rest.

    The peak is that of a 3x3 quadratic; all tables at once, since there are thousands in a comparison.
    """
    side = found.shape[1]
    radius, each = side // 2, np.arange(len(found))
    row, column = np.divmod(found.reshape(len(found), side * side).argmax(1), side) if len(found) else (each, each)
    is_inner = (row > 0) & (row < side - 1) & (column > 0) & (column < side - 1)
    out = np.column_stack([column - radius, row - radius, np.tile((0.05, 0.0, 0.05), (len(found), 1)),
                           0.3 * found[each, row, column], found[:, radius, radius]])  # fmt: skip
    i, r, c = each[is_inner], row[is_inner], column[is_inner]  # the others lie at the rim: hardly a vote
    n = np.stack([np.stack([found[i, r + y, c + x] for x in (-1, 0, 1)], 1) for y in (-1, 0, 1)], 1)
    slope = np.stack([(n[:, :, 2] - n[:, :, 0]).sum(1), (n[:, 2] - n[:, 0]).sum(1)], 1) / 6
    xx, yy = (n[:, :, 0] - 2 * n[:, :, 1] + n[:, :, 2]).sum(1) / 3, (n[:, 0] - 2 * n[:, 1] + n[:, 2]).sum(1) / 3
    xy = (n[:, 0, 0] + n[:, 2, 2] - n[:, 0, 2] - n[:, 2, 0]) / 4
    values, axes = np.linalg.eigh(-np.stack([np.stack([xx, xy], 1), np.stack([xy, yy], 1)], 1))
    values = np.maximum(values, 1e-6)
    along = np.clip(np.einsum("nij,ni->nj", axes, slope) / values, -1, 1)
    seen = values / values[:, 1:]
    seen[:, 0] = np.maximum(0.0, (seen[:, 0] - _BLIND) / (1 - _BLIND))
    info = np.einsum("nij,nj,nkj->nik", axes, seen, axes)
    out[is_inner, :2] += np.einsum("nij,nj->ni", axes, along)
    out[is_inner, 2:6] = np.stack([info[:, 0, 0], info[:, 0, 1], info[:, 1, 1], n[:, 1, 1]], 1)
    return np.asarray(out, np.float64)


def _gather(rows: Floats64, width: int) -> Matches:
    at, score = rows[:, :2], np.clip(rows[:, 7], 0, 1)
    apart = ((at[:, None] - at[None]) ** 2).sum(2)
    near = np.exp(-apart / (2 * (0.06 * width) ** 2))
    even = 1 / np.maximum(near.sum(1), 1e-9) if len(at) else np.zeros(0)
    info = np.stack([rows[:, [4, 5]], rows[:, [5, 6]]], 1)
    return Matches(
        at=at,
        shift=rows[:, 2:4],
        info=info,
        score=score,
        at_rest=rows[:, 8],
        even=even / max(1e-9, float(even.sum())),
    )


def residuals(m: Matches, correction: Matrix) -> Floats64:
    """Return each block's disagreement with the map in px, measured in the directions it can see."""
    e = m.at @ correction[:2, :2].T + correction[:2, 2] - m.at - m.shift
    return np.asarray(np.sqrt(np.maximum(np.einsum("ni,nij,nj->n", e, m.info, e), 0)), np.float64)


def robust_similarity(
    m: Matches, sigmas: tuple[float, ...], middle: tuple[float, float], start: Matrix | None = None
) -> Fit:
    """Fit a similarity by reweighted least squares (Geman-McClure), the scale going down through `sigmas` (px)."""
    base = m.score**2 * m.even
    correction = np.eye(3) if start is None else start
    covariance, weight = np.eye(4) * 1e6, np.ones(len(m))
    p, q = m.at - middle, m.at + m.shift - middle
    jac = np.zeros((len(m), 2, 4))
    jac[:, 0, 0], jac[:, 0, 1], jac[:, 0, 2] = p[:, 0], -p[:, 1], 1
    jac[:, 1, 0], jac[:, 1, 1], jac[:, 1, 3] = p[:, 1], p[:, 0], 1
    for i, sigma in enumerate(sigmas):
        if i > 0 or start is not None:
            weight = (sigma**2 / (sigma**2 + residuals(m, correction) ** 2)) ** 2
        w = (base * weight)[:, None, None]
        seen = np.einsum("nia,nij->naj", jac, m.info * w)
        normal = np.einsum("naj,njb->ab", seen, jac) + 1e-9 * np.eye(4)
        a, b, dx, dy = np.linalg.solve(normal, np.einsum("naj,nj->a", seen, q))
        correction = _about(a, b, dx, dy, middle)
        covariance = np.linalg.inv(normal) * sigma**2
    return Fit(correction, weight, covariance)


def _about(a: float, b: float, dx: float, dy: float, middle: tuple[float, float]) -> Matrix:
    x, y = middle
    return np.array([[a, -b, dx + x - a * x + b * y], [b, a, dy + y - b * x - a * y], [0, 0, 1]])


def competing_motions(
    m: Matches,
    middle: tuple[float, float],
    *,
    tries: int = 1500,
    tolerance_px: float = 1.2,
    scale_slack: float = 0.06,
    keep: int = 4,
) -> list[Matrix]:
    """Return up to `keep` similarities that much of the page follows, from pairs of blocks (fixed seed).

    This is what tells "the page moved" from "the largest figure moved": each gets its own candidate.
    """
    if len(m) < 4:
        return []
    rng = np.random.default_rng(20)
    first, second = rng.integers(0, len(m), (2, tries))
    p = (m.at - middle) @ np.array([1, 1j])
    q = (m.at + m.shift - middle) @ np.array([1, 1j])
    base, moved = p[second] - p[first], q[second] - q[first]
    far = np.abs(base) > 0.08 * abs(p.max() - p.min())
    ratio = moved[far] / base[far]
    offset = q[first][far] - ratio * p[first][far]
    sane = np.abs(np.abs(ratio) - 1) < scale_slack
    ratio, offset = ratio[sane], offset[sane]
    if len(ratio) == 0:
        return []
    error = ratio[:, None] * p[None] + offset[:, None] - q[None]
    ex, ey = error.real, error.imag
    size = m.info[:, 0, 0] * ex**2 + 2 * m.info[:, 0, 1] * ex * ey + m.info[:, 1, 1] * ey**2
    good = size < tolerance_px**2
    return _take_motions(good, m, ratio, offset, middle, keep)


def _take_motions(
    good: NDArray[np.bool_],
    m: Matches,
    ratio: NDArray[np.complex128],
    offset: NDArray[np.complex128],
    middle: tuple[float, float],
    keep: int,
) -> list[Matrix]:
    """Return the best-followed motion, then the best among blocks it does not explain, and so on."""
    weight, motions = m.score**2 * m.even, []
    left = weight.copy()
    for _ in range(keep):
        votes = good @ left
        best = int(np.argmax(votes))
        if votes[best] < 0.06 * weight.sum():
            break
        motions.append(_about(ratio[best].real, ratio[best].imag, offset[best].real, offset[best].imag, middle))
        left = np.where(good[best], 0.0, left)
    return motions
