"""Changes of colour, tone and small inner details between two versions in the same medium.

Lines do not see them: the orientation field has no colour. If the colours of A go over into those of B by one
smooth map for the whole page (the two are in the same medium), what still differs after that map, after slow light
and after the hand's tolerance, is a change of the paint or a detail.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.fields import Floats32
from reviews.imaging.laid import Laid

Bools = NDArray[np.bool_]
BoxPx = tuple[float, float, float, float]

METHOD = "colour-map 1"
SAME_MEDIUM = 0.72  # share of B's Lab variance that one colour map for the page explains
_LIGHT_MM = 35.0
_LEAST_DIFFERENCE, _NOISE_FACTOR = 7.0, 4.5  # CIE Lab units, and multiples of the page's own median difference
_LEAST_AREA_MM2 = 7.0
# Two drawings on bare paper go over into each other by some map nearly always. They are in the same medium only if
# no map is needed at all: a line drawing and its correction, not a sketch and its ink.
_DRY_EXPLAINED = 0.9
_WET_DIFFERENCE = 11.0
_PAPER_SHARE = 0.93
_NEAR_BEST, _NEAR_BEST_LAB = 1.15, 0.6  # a simpler map does if its median error is this near the best one's
_JOIN_MM = 2.5


@dataclass(frozen=True, eq=False)
class Patch:
    """A place whose paint differs, in px of A's working frame."""

    box: BoxPx
    area_mm2: float
    difference: float  # mean, in Lab units


@dataclass(frozen=True, eq=False)
class Paint:
    explained: float  # share of variance one colour map explains, 0..1
    is_same_medium: bool
    painted: tuple[bool, bool]  # whether A and B are painted, not drawn on bare paper
    patches: tuple[Patch, ...]  # largest first; none unless in the same medium


def is_painted(lab: Floats32) -> bool:
    """Return whether the picture is painted: with its lines wiped out, not nearly all of it is bare light paper."""
    small = cv2.resize(lab, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    kernel = np.ones((5, 5), np.uint8)
    light = cv2.dilate(small[..., 0], kernel)
    chroma = cv2.erode(np.hypot(small[..., 1], small[..., 2]), kernel)
    paper = (light > float(np.percentile(light, 95)) - 12) & (chroma < 14)
    return float(paper.mean()) < _PAPER_SHARE


def find_paint_changes(laid: Laid) -> Paint:
    """Compare the paint of two versions in the same medium."""
    painted = is_painted(laid.lab_a), is_painted(laid.lab_b)
    if painted[0] != painted[1]:
        return Paint(0.0, False, painted, ())
    a, b, inside = (_half(x) for x in (laid.lab_a, laid.lab_b, laid.inside.astype(np.float32)))
    seen = inside > 0.99
    mapped, explained, is_plain = _colour_map(a, b, seen)
    if not all(painted):  # what changes in a drawing is its lines, and they are compared as lines
        return Paint(explained, is_plain and explained >= _DRY_EXPLAINED, painted, ())
    if explained < SAME_MEDIUM:
        return Paint(explained, False, painted, ())
    patches = _compare(mapped, b, seen, laid)
    return Paint(explained, True, painted, tuple(p for p in patches if p.difference >= _WET_DIFFERENCE))


def _compare(mapped: Floats32, b: Floats32, seen: Bools, laid: Laid) -> tuple[Patch, ...]:
    """Return what differs after the map, slow light, and the hand's tolerance."""
    k = laid.px_per_mm / 2
    slow = cv2.GaussianBlur(np.clip(b - mapped, -8, 8) * seen[..., None], (0, 0), _LIGHT_MM * k)
    cover = cv2.GaussianBlur(seen.astype(np.float32), (0, 0), _LIGHT_MM * k)[..., None]
    mapped = (mapped + slow / np.maximum(cover, 0.05)).astype(np.float32)
    difference = tolerant_difference(mapped, b, max(1, round(0.6 * laid.looseness * k)))
    return _patches(np.where(seen, difference, 0).astype(np.float32), seen, k)


def _half(picture: Floats32) -> Floats32:
    return np.asarray(cv2.resize(picture, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), np.float32)


def _terms(lab: NDArray[np.float32]) -> NDArray[np.float64]:
    lightness, a, b = (lab[..., i].astype(np.float64) / 50 for i in range(3))
    ones = np.ones_like(lightness)
    return np.stack(
        [ones, lightness, a, b, lightness**2, a * a, b * b, lightness * a, lightness * b, a * b, lightness**3], -1
    )


def _colour_map(a: Floats32, b: Floats32, seen: Bools) -> tuple[Floats32, float, bool]:
    """Map A's colours to B's by the simplest of three maps that does; say how much of B it explains, and if it is none.

    None, linear, cubic: a map freer than it must be takes a figure's new colour for the page's.
    """
    x, y = _terms(a[seen][::7]), b[seen][::7].astype(np.float64)
    if len(x) < 200:
        return a, 0.0, False
    keep: NDArray[np.float64] = np.zeros((11, 3))
    keep[1:4] = 50 * np.eye(3)
    maps = [keep, _fitted(x, y, 4), _fitted(x, y, 11)]
    usual = [float(np.median(_error(x, y, m))) for m in maps]
    chosen = next(m for m, u in zip(maps, usual, strict=True) if u <= _NEAR_BEST * min(usual) + _NEAR_BEST_LAB)
    error = _error(x, y, chosen)
    weight = 1 / (1 + (error / max(3.0, 2 * float(np.median(error)))) ** 2)
    variance = ((y - np.average(y, axis=0, weights=weight)) ** 2).sum(1)
    explained = 1 - float((weight * error**2).sum() / max(1e-6, float((weight * variance).sum())))
    return (_terms(a) @ chosen).astype(np.float32), max(0.0, explained), chosen is keep


def _error(x: NDArray[np.float64], y: NDArray[np.float64], solution: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.sqrt(((y - x @ solution) ** 2).sum(1)), np.float64)


def _fitted(x: NDArray[np.float64], y: NDArray[np.float64], n_terms: int) -> NDArray[np.float64]:
    """Return the least squares map (11 terms x 3, those after `n_terms` zero), outliers made light in four rounds."""
    some, solution = x[:, :n_terms], np.zeros((11, 3))
    weight: NDArray[np.float64] = np.ones(len(x))
    for _ in range(4):
        lean = some * weight[:, None]
        solution[:n_terms] = np.linalg.solve(lean.T @ some + 1e-3 * np.eye(n_terms), lean.T @ y)
        error = _error(x, y, solution)
        weight = np.asarray(1 / (1 + (error / max(3.0, 2 * float(np.median(error)))) ** 2) ** 2, np.float64)
    return solution


def tolerant_difference(one: Floats32, other: Floats32, reach_px: int) -> Floats32:
    """Return the Lab distance left when either side may shift by `reach_px`: an edge a little off is no change."""
    soft = [cv2.GaussianBlur(p, (0, 0), 0.8) for p in (one, other)]
    ways = []
    for fixed, loose in ((soft[0], soft[1]), (soft[1], soft[0])):
        padded = cv2.copyMakeBorder(loose, *(reach_px,) * 4, cv2.BORDER_REPLICATE)
        best = np.full(one.shape[:2], np.inf, np.float32)
        for dy in range(2 * reach_px + 1):
            for dx in range(2 * reach_px + 1):
                step = fixed - padded[dy : dy + one.shape[0], dx : dx + one.shape[1]]
                np.minimum(best, np.einsum("ijk,ijk->ij", step, step), out=best)
        ways.append(np.sqrt(best))
    return np.asarray(np.maximum(*ways), np.float32)


def _patches(difference: Floats32, seen: Bools, k: float) -> tuple[Patch, ...]:
    """Gather what differs by more than the page's own noise into patches."""
    soft = cv2.GaussianBlur(difference, (0, 0), max(0.6, 0.6 * k))
    usual = float(np.median(soft[seen])) if seen.any() else 0.0
    mask = (soft > max(_LEAST_DIFFERENCE, _NOISE_FACTOR * usual)).astype(np.uint8)
    side = 2 * max(1, round(_JOIN_MM * k / 2)) + 1
    joined = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)))
    count, labels = cv2.connectedComponents(joined, connectivity=8)
    found = []
    for i in range(1, count):
        rows, columns = np.nonzero((labels == i) & (mask > 0))
        area = len(rows) / k**2
        if area < _LEAST_AREA_MM2:
            continue
        ends = columns.min(), rows.min(), columns.max() + 1, rows.max() + 1
        box = float(2 * ends[0]), float(2 * ends[1]), float(2 * ends[2]), float(2 * ends[3])
        found.append(Patch(box, area, float(soft[rows, columns].mean())))
    return tuple(sorted(found, key=lambda p: -p.area_mm2 * p.difference))
