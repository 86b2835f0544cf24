"""Bring one version's colours to the other's: what scan, exposure, grade and light make of the same paint.

One colour map for the whole page and one slow gain; both are robust, so that a figure painted anew is not followed.
"""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray

from reviews.imaging.arrays import Bools, Floats32

ColourMap = Callable[[Floats32], Floats32]

# Chosen on tuning seeds, see tests/bench/changes.py: with 25 mm the clouds of two scans stayed as patches, with 10 mm
# large pale changes were taken for light.
_LIGHT_MM, _LIGHT_ROUNDS = 14.0, 4
_LEAST_GAIN, _MOST_GAIN = 0.7, 1.4
_GRID_MM = 2.5
_TURNS, _ROUNDS, _FIT_POINTS = 2, 5, 4000
_NEAR_BEST, _NEAR_BEST_LAB = 1.15, 0.6  # a simpler map does if its median error is this near the best one's


def in_colours_of(a: Floats32, b: Floats32, seen: Bools, k: float) -> tuple[Floats32, float]:
    """Bring A's colours to B's: one map for the whole page, then slow light. Return how much of B the map explains.

    The simplest of four maps that does: none, a curve per channel, linear, cubic. A map freer than it must be takes a
    figure's new colour for the page's. Judged after the light is taken out, or a free map would be bought to follow
    clouds. Both are fitted on a coarse grid (`_GRID_MM`): neither knows anything finer.
    """
    size = tuple(max(8, round(side / (_GRID_MM * k))) for side in b.shape[1::-1])
    one, other, cover = (
        np.asarray(cv2.resize(x, size, interpolation=cv2.INTER_AREA), np.float32)
        for x in (a, b, seen.astype(np.float32))
    )
    known = cover > 0.9
    few = max(1, int(known.sum()) // _FIT_POINTS)
    best: list[tuple[float, ColourMap, Floats32]] = []
    for make in (_no_map, _curves, _linear, _cubic):
        light = np.ones(known.shape, np.float32)
        for _ in range(_TURNS):
            mapping = make(one[known][::few], other[known][::few] / light[known][::few, None])
            mapped = mapping(one)
            light = _light_between(mapped, other, known)
        usual = float(np.median(lab_distance(mapped * light[..., None], other)[known]))
        best.append((usual, mapping, light))
        if usual <= _NEAR_BEST_LAB:
            break
    least = min(u for u, _, _ in best)
    _, mapping, light = next(m for m in best if m[0] <= _NEAR_BEST * least + _NEAR_BEST_LAB)
    gain = cv2.resize(light, b.shape[1::-1], interpolation=cv2.INTER_LINEAR)[..., None]
    return np.asarray(mapping(a) * gain, np.float32), explained_share(mapping(one)[known], other[known])


def _light_between(mapped: Floats32, b: Floats32, known: Bools) -> Floats32:
    """Return the slow gain from one picture to the other, in which what was painted anew has no say.

    Light multiplies, and Lab is near enough to linear in it for one gain on all three channels.
    """
    sigma, gain = _LIGHT_MM / _GRID_MM, np.ones(known.shape, np.float32)
    top, base = (mapped * b).sum(2), (mapped * mapped).sum(2)
    for _ in range(_LIGHT_ROUNDS):
        off = lab_distance(gain[..., None] * mapped, b)
        usual = max(1.5, float(np.median(off[known])))
        weight = known / (1 + (off / (2 * usual)) ** 2) ** 2
        over, under = (cv2.GaussianBlur((weight * x).astype(np.float32), (0, 0), sigma) for x in (top, base))
        prior = 0.02 * float(under.max())
        gain = np.clip((over + prior) / (under + prior), _LEAST_GAIN, _MOST_GAIN)
    return np.asarray(gain, np.float32)


def explained_share(mapped: Floats32, y: Floats32) -> float:
    """Return how much of the variance of `y` its likeness `mapped` explains, 0..1; both (n, 3) in Lab."""
    error = lab_distance(mapped, y).astype(np.float64)
    weight = 1 / (1 + (error / max(3.0, 2 * float(np.median(error)))) ** 2)
    variance = ((y - np.average(y, axis=0, weights=weight)) ** 2).sum(1)
    return max(0.0, 1 - float((weight * error**2).sum() / max(1e-6, float((weight * variance).sum()))))


def _terms(lab: NDArray[np.float32]) -> NDArray[np.float64]:
    lightness, a, b = (lab[..., i].astype(np.float64) / 50 for i in range(3))
    ones = np.ones_like(lightness)
    return np.stack(
        [ones, lightness, a, b, lightness**2, a * a, b * b, lightness * a, lightness * b, a * b, lightness**3], -1
    )


def lab_distance(one: Floats32, other: Floats32) -> Floats32:
    """Return the distance in Lab units of two pictures (…, 3), pixel by pixel (…)."""
    return np.asarray(np.sqrt(((one - other) ** 2).sum(-1)), np.float32)


def _robust(error: Floats32) -> NDArray[np.float64]:
    return np.asarray(1 / (1 + (error.astype(np.float64) / max(3.0, 2 * float(np.median(error)))) ** 2) ** 2)


def _no_map(x: Floats32, y: Floats32) -> ColourMap:
    return lambda lab: lab


def _linear(x: Floats32, y: Floats32) -> ColourMap:
    return _polynomial(x, y, 4)


def _cubic(x: Floats32, y: Floats32) -> ColourMap:
    return _polynomial(x, y, 11)


def _curves(x: Floats32, y: Floats32) -> ColourMap:
    """Return the map of a gain and a gamma for each of red, green and blue: another exposure, scan or white balance."""
    log_x, log_y = _log_rgb(x), _log_rgb(y)
    slope, gain, weight = np.ones(3, np.float32), np.zeros(3, np.float32), np.ones(len(x))

    def apply(lab: Floats32) -> Floats32:
        rgb = np.exp(np.clip(_log_rgb(lab) * slope + gain, -6, 0))
        return _as_lab(rgb.astype(np.float32))

    for _ in range(_ROUNDS):
        for c in range(3):
            mean = np.average(log_x[:, c], weights=weight), np.average(log_y[:, c], weights=weight)
            over = np.average((log_x[:, c] - mean[0]) * (log_y[:, c] - mean[1]), weights=weight)
            under = np.average((log_x[:, c] - mean[0]) ** 2, weights=weight)
            slope[c] = np.clip((over + 1e-3) / (under + 1e-3), 0.4, 2.5)
            gain[c] = mean[1] - slope[c] * mean[0]
        weight = _robust(lab_distance(apply(x), y))
    return apply


def _log_rgb(lab: Floats32) -> Floats32:
    rgb = cv2.cvtColor(lab.reshape(-1, 1, 3), cv2.COLOR_LAB2RGB).reshape(lab.shape)
    return np.asarray(np.log(np.clip(rgb, 0.02, 1)), np.float32)


def _as_lab(rgb: Floats32) -> Floats32:
    return np.asarray(cv2.cvtColor(rgb.reshape(-1, 1, 3), cv2.COLOR_RGB2LAB).reshape(rgb.shape), np.float32)


def _polynomial(x: Floats32, y: Floats32, n_terms: int) -> ColourMap:
    """Return the least squares polynomial of Lab with its first `n_terms` terms, outliers made light."""
    some, weight = _terms(x)[:, :n_terms], np.ones(len(x))
    solution: NDArray[np.float64] = np.zeros((n_terms, 3))
    for _ in range(_ROUNDS):
        lean = some * weight[:, None]
        solution = np.asarray(np.linalg.solve(lean.T @ some + 1e-3 * np.eye(n_terms), lean.T @ y), np.float64)
        weight = _robust(lab_distance((some @ solution).astype(np.float32), y))
    return lambda lab: np.asarray(_terms(lab)[..., :n_terms] @ solution, np.float32)
