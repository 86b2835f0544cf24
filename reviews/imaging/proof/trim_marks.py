"""Trim marks on a printer's sheet: short thin lines that stand off each corner of the trim, upright and level.

A corner is told by two lines that point at it from outside and end before it. A trim is told by three corners or
four that make one rectangle, turned by at most two degrees, with paper round about. Fewer corners could be completed
by what size the page should have; that would be a guess, and nothing is found instead. Lines alone are no corner, so
fold marks and register marks lead to none.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import cv2
import numpy as np

from reviews.imaging.arrays import Bools, Floats64, Pixels
from reviews.press.proof_sheet import TrimFound

#: The longer side to look at: a hairline of 0.09 mm on a sheet of 600 mm is then six tenths of a pixel wide.
LOOKED_PX = 4096
# Shares of the longer side. Marks are some 3 to 10 mm long and stand 2 to 12 mm off, on sheets of 300 to 900 mm;
# common practice, widened by half.
_THICK, _SHORT, _LONG, _MOST_GAP = 0.003, 0.004, 0.06, 0.045
_LEAST_DARK = 20  # levels of 255 below the paper; a hairline that falls between two pixels has some 30
_OFF_PAPER = 40  # levels of 255: paper, its shade on a scan, and the compression
_MOST_TURN = math.radians(2.3)
_SQUARE, _SQUARE_PX = math.radians(0.05), 2.5  # by which two sides may be off a right angle, and how sharp corners are
_ALIKE, _LEAN_PX = 1.4, 1.2  # by which the longest mark may exceed the shortest, and one may lean from end to end
_LEAST_SIDE = 0.3  # of the picture's own side
_FOURTH = 0.002  # of the longer side: how near the fourth corner must be to where three say it is
_LEAST_PAPER = 0.5  # of the ring where marks stand: bars and words of the printer take up some of it
_MOST_LINES, _MOST_CORNERS, _MOST_TRIMS = 400, 60, 16


@dataclass(frozen=True)
class _Line:
    """A short line that runs along one direction: its middle, how far it drifts a pixel, where it begins and ends."""

    along: float
    across: float
    drift: float
    start: float
    end: float

    @property
    def length(self) -> float:
        return self.end - self.start


@dataclass(frozen=True)
class _Corner:
    """Where an upright and a level line point, with how far off the nearer of their ends stand."""

    x: float
    y: float
    upright: _Line
    level: _Line
    gap: float


@dataclass(frozen=True)
class _Rectangle:
    """Four corners (4, 2), clockwise from the upper left; how many were seen; where marks begin and end outside."""

    corners: Floats64
    n_seen: int
    gap: float
    reach: float


def find_marks(rgb: Pixels) -> tuple[TrimFound, ...]:
    """Find every rectangle that trim marks stand around, those with most corners first; none where none is sure.

    Parameters
    ----------
    rgb : (rows, columns, 3) uint8 sRGB, best some 4,096 pixels on its longer side.

    Returns
    -------
    Rectangles in fractions of the picture. Marks for the bleed stand around a larger one than those for the trim,
    and both are told: which is the trim, its proportions say. On drawn sheets within 0.1 mm (tests/imaging).
    """
    light = np.asarray(rgb.min(axis=2), np.uint8)  # a mark in any one ink is dark in one channel at least
    upright = _lines(light)
    level = _lines(np.ascontiguousarray(light.T))
    corners = {kind: _corners(upright, level, kind, max(light.shape)) for kind in _KINDS}
    found = [one for one in _rectangles(corners, light.shape) if _is_on_paper(one, light)]
    return tuple(_told(one, light.shape) for one in _distinct(found)[:_MOST_TRIMS])


#: Corners by the side on which their marks stand: -1 left or above, 1 right or below.
_KINDS = ((-1, -1), (1, -1), (1, 1), (-1, 1))


def _lines(light: Pixels) -> list[_Line]:
    """List thin dark lines on paper that run down the rows, within a little more than two degrees."""
    longest = max(light.shape)
    thick, short = max(5, round(_THICK * longest) | 1), max(6, round(_SHORT * longest))
    paper = np.asarray(cv2.morphologyEx(light, cv2.MORPH_CLOSE, np.ones((1, thick), np.uint8)), np.uint8)
    dark = paper - light
    white = float(np.percentile(paper[:: max(1, longest // 500), :: max(1, longest // 500)], 90))
    mask = ((dark > _LEAST_DARK) & (paper > white - _OFF_PAPER)).astype(np.uint8)
    # A line that drifts from one column to the next is one line all the same.
    wide = cv2.dilate(mask, np.ones((1, 3), np.uint8))
    runs = cv2.morphologyEx(wide, cv2.MORPH_OPEN, np.ones((short, 1), np.uint8))
    n, labels, boxes, _ = cv2.connectedComponentsWithStats(runs, connectivity=8)
    lines = []
    for at in range(1, n):
        left, top, across, down, _area = (int(v) for v in boxes[at])
        if down > _LONG * longest or across > thick + 2 + down * math.tan(_MOST_TURN):
            continue
        place = slice(top, top + down), slice(left, left + across)
        line = _fitted(np.where((labels[place] == at) & (mask[place] > 0), dark[place], 0), left, top)
        if line is not None and line.length >= short - 2:
            lines.append((float(dark[place].max()), line))
    return [line for _, line in sorted(lines, key=lambda one: -one[0])[:_MOST_LINES]]


def _fitted(dark: Pixels, left: int, top: int) -> _Line | None:
    """Fit one straight line to what is dark, by weight; None where it is bent or leans too far."""
    rows, columns = np.nonzero(dark)
    if len(rows) < 4:
        return None
    weight = dark[rows, columns].astype(np.float64)
    y, x = rows + 0.5, columns + 0.5
    middle_y, middle_x = float(np.average(y, weights=weight)), float(np.average(x, weights=weight))
    spread = float(np.average((y - middle_y) ** 2, weights=weight))
    drift = float(np.average((y - middle_y) * (x - middle_x), weights=weight)) / max(spread, 1e-6)
    off = float(np.sqrt(np.average((x - middle_x - drift * (y - middle_y)) ** 2, weights=weight)))
    if abs(drift) > math.tan(_MOST_TURN) + 1.5 / len(np.unique(rows)) or off > 1.0 + 0.1 * dark.shape[1]:
        return None
    return _Line(top + middle_y, left + middle_x, drift, top + float(rows.min()), top + float(rows.max()) + 1)


def _corners(upright: list[_Line], level: list[_Line], kind: tuple[int, int], longest: int) -> list[_Corner]:
    """Pair lines that point at one corner from outside: ``kind`` says on which side of it they stand."""
    found = []
    for one, other in product(upright, level):
        x, y = _meeting(one, other)
        beside = other.start - x if kind[0] > 0 else x - other.end
        above = one.start - y if kind[1] > 0 else y - one.end
        if not (min(beside, above) >= -2 and max(beside, above) <= _MOST_GAP * longest):
            continue
        longer, shorter = max(one.length, other.length), min(one.length, other.length)
        if shorter * 3 < longer or abs(beside - above) > max(6.0, 0.6 * longer):
            continue
        found.append(_Corner(x, y, one, other, max(0.0, min(beside, above))))
    return sorted(found, key=lambda one: -min(one.upright.length, one.level.length))[:_MOST_CORNERS]


def _meeting(upright: _Line, level: _Line) -> tuple[float, float]:
    """Give where the two lines meet, drawn on."""
    x = (upright.across + upright.drift * (level.across - upright.along - level.drift * level.along)) / (
        1 - upright.drift * level.drift
    )
    return x, level.across + level.drift * (x - level.along)


def _rectangles(corners: dict[tuple[int, int], list[_Corner]], shape: tuple[int, ...]) -> Iterator[_Rectangle]:
    """Make rectangles of each corner with its two neighbours, and look whether the fourth is there as well."""
    rows, columns = shape
    near = _FOURTH * max(shape)
    for kind in _KINDS:
        beside, across = (-kind[0], kind[1]), (-kind[0], -kind[1])
        below = kind[0], -kind[1]
        for one, two, three in product(corners[kind], corners[beside], corners[below]):
            wide, high = abs(two.x - one.x), abs(three.y - one.y)
            if (two.x - one.x) * kind[0] >= 0 or (three.y - one.y) * kind[1] >= 0:
                continue
            if wide < _LEAST_SIDE * columns or high < _LEAST_SIDE * rows:
                continue
            level = math.atan((two.y - one.y) / (two.x - one.x))
            plumb = math.atan((one.x - three.x) / (three.y - one.y))
            if abs(level - plumb) > _SQUARE + _SQUARE_PX / min(wide, high) or abs(level) > _MOST_TURN:
                continue
            guess = two.x + three.x - one.x, two.y + three.y - one.y
            four = min(corners[across], key=lambda c, to=guess: math.dist((c.x, c.y), to), default=None)  # type: ignore[misc]
            if four is not None and math.dist((four.x, four.y), guess) > near:
                four = None
            seen = {kind: one, beside: two, below: three} | ({across: four} if four else {})
            if _are_alike(list(seen.values()), (level + plumb) / 2):
                yield _squared(seen, (level + plumb) / 2)


def _are_alike(corners: list[_Corner], turn: float) -> bool:
    """Say whether lines look like the marks of one sheet: as long, as far off, and leaning as the sheet does."""
    lines = [(corner.upright, -1) for corner in corners] + [(corner.level, 1) for corner in corners]
    lengths, gaps = [line.length for line, _ in lines], [corner.gap for corner in corners]
    rough = [abs(sign * line.drift - math.tan(turn)) * line.length for line, sign in lines]
    is_even = max(lengths) <= _ALIKE * min(lengths) and max(gaps) - min(gaps) <= max(4.0, 0.3 * min(lengths))
    return is_even and max(rough) <= _LEAN_PX


def _squared(seen: dict[tuple[int, int], _Corner], turn: float) -> _Rectangle:
    """Make the rectangle that the marks stand around when it is turned by ``turn``, each side by all its marks."""
    cos, sin = math.cos(turn), math.sin(turn)
    # Turned back, an upright mark says where a side is by its middle alone: its own lean, of a few pixels, is rough.
    sides: dict[tuple[str, int], list[float]] = {}
    for (beside, above), corner in seen.items():
        one, other = corner.upright, corner.level
        sides.setdefault(("x", beside), []).append(one.across * cos + one.along * sin)
        sides.setdefault(("y", above), []).append(other.across * cos - other.along * sin)
    at = {side: sum(values) / len(values) for side, values in sides.items()}
    corners = np.array([[at["x", beside], at["y", above]] for beside, above in _KINDS])
    back = corners @ np.array([[cos, sin], [-sin, cos]])
    marks = [line for corner in seen.values() for line in (corner.upright, corner.level)]
    gap = max(corner.gap for corner in seen.values())
    return _Rectangle(back, len(seen), gap, gap + float(np.median([line.length for line in marks])))


def _is_on_paper(one: _Rectangle, light: Pixels) -> bool:
    """Say whether there is paper round about where the marks stand; art that goes on there has no marks."""
    grown = [_grown(one.corners, by) for by in (one.gap + 1, one.reach)]
    inside, outside = (_filled(corners, light.shape) for corners in grown)
    ring = light[outside & ~inside]
    return len(ring) > 0 and float((ring > np.percentile(ring, 95) - _OFF_PAPER).mean()) >= _LEAST_PAPER


def _grown(corners: Floats64, by: float) -> Floats64:
    middle = corners.mean(axis=0)
    return np.asarray(corners + np.sign(corners - middle) * by, np.float64)


def _filled(corners: Floats64, shape: tuple[int, ...]) -> Bools:
    canvas = np.zeros(shape, np.uint8)
    cv2.fillConvexPoly(canvas, np.round(corners).astype(np.int32), 1)
    return np.asarray(canvas > 0, np.bool_)


def _distinct(found: list[_Rectangle]) -> list[_Rectangle]:
    """Leave out what is nearly the same rectangle as one of more corners; the inner ones first."""
    kept: list[_Rectangle] = []
    for one in sorted(found, key=lambda one: (-one.n_seen, float(np.ptp(one.corners, axis=0).sum()))):
        if all(float(np.abs(one.corners - other.corners).max()) > 4 for other in kept):
            kept.append(one)
    return kept


def _told(one: _Rectangle, shape: tuple[int, ...]) -> TrimFound:
    """Give a rectangle as it lies when the picture is turned straight about its middle, in fractions."""
    rows, columns = shape
    x, y = one.corners.mean(axis=0)
    across = one.corners[1] - one.corners[0]
    wide, high = float(np.hypot(*across)), float(np.hypot(*(one.corners[3] - one.corners[0])))
    return TrimFound(
        left=round(float((x - wide / 2) / columns), 6),
        top=round(float((y - high / 2) / rows), 6),
        right=round(float((x + wide / 2) / columns), 6),
        bottom=round(float((y + high / 2) / rows), 6),
        turn_deg=round(math.degrees(math.atan2(across[1], across[0])), 3),
        n_corners=one.n_seen,
    )
