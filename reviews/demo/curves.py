"""Curves for the demo drawings: points in, smooth polylines out. Units are millimetres of the drawn piece."""

import zlib
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Pair = tuple[float, float]


def chance(*words: object) -> np.random.Generator:
    """Return a random source that depends only on the words, so that the same drawing comes out every time."""
    return np.random.default_rng(zlib.crc32("|".join(str(word) for word in words).encode()))


def dots(text: str) -> Points:
    """Read points written as in a path: "x,y x,y …"."""
    return np.array([[float(value) for value in pair.split(",")] for pair in text.split()])


def smooth(points: Sequence[Pair] | Points, closed: bool = True, steps: int = 9) -> Points:
    """Pass a Catmull-Rom curve through the points."""
    knots = np.asarray(points, dtype=float)
    if len(knots) < 3:
        return knots
    if closed:
        padded = np.vstack([knots[-1], knots, knots[0], knots[1]])
    else:
        padded = np.vstack([2 * knots[0] - knots[1], knots, 2 * knots[-1] - knots[-2]])
    before, here, there, after = padded[:-3], padded[1:-2], padded[2:-1], padded[3:]
    t = np.linspace(0, 1, steps, endpoint=False)[None, :, None]
    before, here, there, after = (part[:, None, :] for part in (before, here, there, after))
    curve = 0.5 * (
        2 * here
        + (there - before) * t
        + (2 * before - 5 * here + 4 * there - after) * t**2
        + (3 * here - before - 3 * there + after) * t**3
    )
    curve = curve.reshape(-1, 2)
    return curve if closed else np.vstack([curve, knots[-1]])


def egg(cx: float, cy: float, rx: float, ry: float, turn: float = 0.0, pinch: float = 0.0, n: int = 28) -> Points:
    """Return an ellipse; `pinch` narrows its top, `turn` is in degrees, clockwise on the page."""
    angle = np.linspace(0, 2 * np.pi, n, endpoint=False)
    x = rx * np.cos(angle) * (1 + pinch * np.sin(angle))
    y = ry * np.sin(angle)
    return turned(np.column_stack([x, y]), turn) + np.array([cx, cy])


def arc(cx: float, cy: float, rx: float, ry: float, start: float, stop: float, n: int = 20) -> Points:
    """Return an open piece of an ellipse, angles in degrees, clockwise from three o'clock."""
    angle = np.radians(np.linspace(start, stop, n))
    return np.column_stack([cx + rx * np.cos(angle), cy + ry * np.sin(angle)])


def turned(points: Points, degrees: float) -> Points:
    """Turn points round the origin, clockwise on the page."""
    if not degrees:
        return points
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.column_stack([points[:, 0] * c - points[:, 1] * s, points[:, 0] * s + points[:, 1] * c])


def normals(path: Points, closed: bool = False) -> Points:
    """Return the unit normal at each point of a path."""
    if closed:
        along = np.roll(path, -1, axis=0) - np.roll(path, 1, axis=0)
    else:
        along = np.gradient(path, axis=0) if len(path) > 1 else np.ones_like(path)
    length = np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    along = along / length
    return np.column_stack([-along[:, 1], along[:, 0]])


def ribbon(points: Sequence[Pair] | Points, widths: Sequence[float], steps: int = 9, round_ends: bool = True) -> Points:
    """Return the outline of a band along a curve; widths are spread evenly over its length."""
    path = smooth(points, closed=False, steps=steps)
    return band(path, widths, round_ends)


def band(path: Points, widths: Sequence[float], round_ends: bool = True) -> Points:
    """Return the outline of a band along a path that is already smooth."""
    at = np.linspace(0, len(widths) - 1, len(path))
    half = np.interp(at, np.arange(len(widths)), widths)[:, None] / 2
    across = normals(path) * half
    left, right = path + across, (path - across)[::-1]
    if not round_ends:
        return np.vstack([left, right])
    return np.vstack([left, _cap(path[-1], across[-1]), right, _cap(path[0], -across[0])])


def _cap(centre: Points, start: Points) -> Points:
    angle = np.radians(np.array([30.0, 60, 90, 120, 150]))
    c, s = np.cos(-angle), np.sin(-angle)
    return np.column_stack([centre[0] + start[0] * c - start[1] * s, centre[1] + start[0] * s + start[1] * c])


def fringe(path: Points, height: float, rng: np.random.Generator, pace: float = 3.0, lean: float = 0.0) -> Points:
    """Return a path broken into tufts, as for grass tops and fluffy tails; height is up the page unless negative."""
    length = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    n = max(4, int(length[-1] / pace))
    at = np.linspace(0, length[-1], n)
    foot = np.column_stack([np.interp(at, length, path[:, 0]), np.interp(at, length, path[:, 1])])
    tip = foot + np.column_stack(
        [lean * height + rng.normal(0, abs(height) * 0.25, n), -height * rng.uniform(0.35, 1.0, n)]
    )
    return np.stack([foot, tip], axis=1).reshape(-1, 2)


def wobbled(points: Points, amount: float, rng: np.random.Generator, period: float = 34.0) -> Points:
    """Push points about as an unsteady hand does: smoothly, by about `amount` millimetres."""
    if not amount:
        return points
    moved = points.copy()
    for octave in (1.0, 2.3):
        turn = rng.uniform(0, 2 * np.pi, 4)
        wave = 2 * np.pi * octave / period
        for axis in (0, 1):
            heading = turn[axis]
            phase = wave * (points[:, 0] * np.cos(heading) + points[:, 1] * np.sin(heading)) + turn[axis + 2]
            moved[:, axis] += amount * np.sin(phase) / octave
    return moved
