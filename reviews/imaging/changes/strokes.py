"""Lines of one version that have no counterpart in the other.

Ridges of the orientation field stand for the drawn lines. A ridge pixel is unmatched as far as no ridge of like
direction lies near in the other version, no fainter structure there runs along with it, and it is strong enough to
be a line and not paper grain, a brush dab or a construction line.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import Bools, Complexes, Floats32
from reviews.imaging.changes.fields import reduced, two_channels
from reviews.imaging.changes.warp import WarpedPair

STRONG, FAINT = 0.12, 0.06  # |z| of a ridge that asks for a counterpart, and of one that may be it
_BINS = 8
_SOFTNESS_MM = 0.5
_EVIDENCE_REACH_MM, _EVIDENCE_BLUR_MM = 1.2, 1.6
_EVIDENCE_ENOUGH, _EVIDENCE_SLOPE = 0.8, 0.25


@dataclass(frozen=True, eq=False, kw_only=True)
class Unmatched:
    """Per side: ridges (bool), and how much each ridge pixel lacks a counterpart (0..1, 0 off the ridges)."""

    ridges_a: Bools
    ridges_b: Bools
    a: Floats32
    b: Floats32
    evidence_a: Floats32
    evidence_b: Floats32
    px_per_mm: float


def ridges(z: Complexes, least: float) -> Bools:
    """Return the pixels where |z| is at least `least` and largest across the line."""
    size = np.abs(z).astype(np.float32)
    angle = np.angle(z) / 2
    height, width = z.shape
    x, y = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
    dx, dy = np.cos(angle).astype(np.float32), np.sin(angle).astype(np.float32)
    ahead = cv2.remap(size, x + dx, y + dy, cv2.INTER_LINEAR)
    behind = cv2.remap(size, x - dx, y - dy, cv2.INTER_LINEAR)
    return np.asarray((size >= ahead) & (size > behind) & (size > least), bool)


def find_unmatched(pair: WarpedPair) -> Unmatched:
    """Compare the lines of both sides, within the tolerance that follows the hand."""
    sides = ((pair.za, pair.zua, pair.strength_a), (pair.zb, pair.zub, pair.strength_b))
    inside = pair.inside
    strong = [ridges(z, STRONG) & inside for z, _, _ in sides]
    found, evidence = [], []
    for mine, other in ((0, 1), (1, 0)):
        z, _, strength = sides[mine]
        faint = ridges(sides[other][0], FAINT)
        distance = _distance_to_like(z, strong[mine], sides[other][0], faint)
        tolerance, soft = pair.tolerance_mm, _SOFTNESS_MM * pair.looseness
        weight = np.clip((distance / pair.px_per_mm - tolerance) / soft, 0, 1)
        along = running_along(z, sides[other][1], pair.px_per_mm, min(pair.looseness, 2.0))
        weight = weight * np.clip((_EVIDENCE_ENOUGH - along) / _EVIDENCE_SLOPE, 0, 1)
        weight = weight * _is_line(strength, strong[mine])
        found.append(np.where(strong[mine], weight, 0).astype(np.float32))
        evidence.append(along)
    return Unmatched(
        ridges_a=strong[0],
        ridges_b=strong[1],
        a=found[0],
        b=found[1],
        evidence_a=evidence[0],
        evidence_b=evidence[1],
        px_per_mm=pair.px_per_mm,
    )


def _bins(z: Complexes, where: tuple[NDArray[np.int64], ...]) -> NDArray[np.int64]:
    return np.asarray(np.floor((np.angle(z[where]) + np.pi) / (2 * np.pi) * _BINS) % _BINS, np.int64)


def _distance_to_like(z: Complexes, ridge: Bools, other: Complexes, other_ridge: Bools) -> Floats32:
    """Return, on each ridge pixel, the distance in px to the nearest ridge of the other side of like direction."""
    here, there = np.nonzero(ridge), np.nonzero(other_ridge)
    mine, theirs = _bins(z, here), _bins(other, there)
    out = np.full(z.shape, 1e3, np.float32)
    for k in range(_BINS):
        asking = mine == k
        like = (theirs - k + 1) % _BINS <= 2
        if not asking.any() or not like.any():
            continue
        free = np.ones(z.shape, np.uint8)
        free[there[0][like], there[1][like]] = 0
        rows, columns = here[0][asking], here[1][asking]
        out[rows, columns] = cv2.distanceTransform(free, cv2.DIST_L2, 3)[rows, columns]
    return out


def running_along(z: Complexes, other_u: Complexes, px_per_mm: float, reach: float) -> Floats32:
    """Return how well *any* structure of the other side, however faint, runs along this side's lines (-1..1).

    The best over shifts within 1.2 mm x `reach` of the averaged cosine of the doubled angle; worked at half size.
    """
    mine, theirs = reduced(z, 0.5), reduced(other_u, 0.5)
    theirs = (theirs / np.maximum(np.abs(theirs), 0.02)).astype(np.complex64)
    half = px_per_mm / 2
    radius, sigma = _EVIDENCE_REACH_MM * reach * half, max(0.8, _EVIDENCE_BLUR_MM * half)
    total = cv2.GaussianBlur(np.abs(mine), (0, 0), sigma) + 1e-4
    best = np.full(mine.shape, -1, np.float32)
    pad, n = int(np.ceil(radius)), int(np.ceil(radius))
    padded = cv2.copyMakeBorder(two_channels(theirs), pad, pad, pad, pad, cv2.BORDER_CONSTANT)
    step = 1 if radius < 3 else 2
    height, width = mine.shape
    for dy in range(-n, n + 1, step):
        for dx in range(-n, n + 1, step):
            if dx * dx + dy * dy > radius * radius + 0.3:
                continue
            part = padded[pad + dy : pad + dy + height, pad + dx : pad + dx + width]
            cosine = mine.real * part[..., 0] + mine.imag * part[..., 1]
            np.maximum(best, cv2.GaussianBlur(cosine, (0, 0), sigma) / total, out=best)
    return np.asarray(cv2.resize(best, z.shape[::-1], interpolation=cv2.INTER_LINEAR), np.float32)


def _is_line(strength: Floats32, ridge: Bools) -> Floats32:
    values = strength[ridge]
    usual = 0.6 * float(np.percentile(values, 70)) if values.size else 1.0
    return np.asarray(np.minimum(1, strength / max(usual, 1e-6)) ** 1.5, np.float32)
