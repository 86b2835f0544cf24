"""Figures that were turned or resized: a heap of lines without counterpart, looked for at other sizes and turns.

The search of `template_search.py` knows shifts only, so what was turned or resized falls to pieces there. Here heaps of
either version are looked for once more in the other, coarsely over sizes and turns and then finely, and have to be
better found than by any shift. What follows the found motion is then gathered around it: the whole figure, not only
its loose lines. Whether it is believed is said by how much of what is loose it explains (`explained_lines.py`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import cv2
import numpy as np

from reviews.imaging.arrays import BoxPx, Complexes, Floats32, Matrix
from reviews.imaging.changes.explained_lines import ExplainedLines
from reviews.imaging.changes.fields import fetch_field, reduced
from reviews.imaging.changes.figure_growth import grown_figure
from reviews.imaging.changes.heaps import Heap, find_heaps, solid_box
from reviews.imaging.changes.local_strain import Strained, followers, strained_places
from reviews.imaging.changes.matching import correlation, cut_out
from reviews.imaging.changes.regions import shared_of_union, union
from reviews.imaging.changes.strokes import Unmatched
from reviews.imaging.changes.warp import WarpedPair

METHOD = "similar-figures 2"
# Closing in mm, least density in mm of line per mm2, least mm of line, how many at most, of one version.
_LARGE, _SMALL = (9.0, 0.07, 25.0, 8), (3.0, 0.10, 10.0, 8)
_MOST_HEAPS = 20
_SAME_HEAP = 0.5  # of both boxes
_SCALES = tuple(float(s) for s in np.geomspace(0.62, 1.6, 9))
_TURNS_DEG = tuple(float(t) for t in np.linspace(-45, 45, 13))
_REACH_MM, _BORDER_MM = 25.0, 1.5
_OLD_LINE_MINE, _OLD_LINE_OTHER = 0.35, 0.45  # what lines with a counterpart weigh beside those without
_COARSE, _FINE = 0.25, 0.5  # of the working size
_KEPT = 4  # coarse finds that are looked at finely
_FINER_SCALES, _FINER_TURNS_DEG = (0.95, 1.0, 1.05), (-3.5, 0.0, 3.5)
_FINEST_SCALES, _FINEST_TURNS_DEG = (0.98, 1.0, 1.02), (-1.2, 0.0, 1.2)
_LEAST_NCC, _LEAST_GAIN = 0.40, 0.04
_LEAST_RESIZE, _LEAST_TURN_DEG = 0.08, 6.0
_SMALL_CLOSING_MM = 6.0
_WIDER_SCALES, _WIDER_TURNS_DEG = (0.88, 0.94, 1.0, 1.06, 1.12), (-5.0, 0.0, 5.0)


@dataclass(frozen=True, eq=False, kw_only=True)
class SimilarFigure:
    """A figure of A found turned or resized in B: its boxes in px, and how surely."""

    old: BoxPx
    new: BoxPx
    scale: float
    turn_deg: float
    ncc: float
    gain: float  # over the best mere shift
    mass_mm: float  # of the lines without counterpart it was looked for by
    explained: Mapping[str, float]  # see EXPLAINED_FEATURES
    strain: float = 0.0  # where it was found by what its lines do together: how plainly; ncc and gain are 0 then


@dataclass(frozen=True, eq=False)
class _Version:
    """One version as it is looked for and as it is looked in: its field, what is loose of it, and smaller copies."""

    z: Complexes
    loose: Floats32
    ridge: np.ndarray
    small: Mapping[float, Complexes]

    @classmethod
    def of(cls, z: Complexes, loose: Floats32, ridge: np.ndarray) -> _Version:
        fresh = np.minimum(1, cv2.dilate(loose, np.ones((3, 3), np.uint8)))
        weighed = (z * (_OLD_LINE_OTHER + (1 - _OLD_LINE_OTHER) * fresh)).astype(np.complex64)
        return cls(z, loose, ridge, {factor: reduced(weighed, factor) for factor in (_COARSE, _FINE)})


def find_similar(pair: WarpedPair, unmatched: Unmatched) -> list[SimilarFigure]:
    """Return the figures of A that may have been turned or resized, heaviest heap first."""
    versions = (
        _Version.of(pair.za, unmatched.a, unmatched.ridges_a),
        _Version.of(pair.zb, unmatched.b, unmatched.ridges_b),
    )
    lines, found = ExplainedLines(pair, unmatched), list[SimilarFigure]()
    for heap, of in _heaps_of_both(versions, pair.px_per_mm):
        one = _looked_for(pair, versions[of], versions[1 - of], heap, lines, is_back=of == 1)
        if one is not None:
            found.append(one)
    return [*found, *_strained(pair, lines)]


def _strained(pair: WarpedPair, lines: ExplainedLines) -> Iterator[SimilarFigure]:
    """Give the figures that were turned or resized by so little that hardly a line of them is loose."""
    b = reduced(pair.zb, _FINE)
    for place in strained_places(pair):
        heap = followers(pair, place)
        if heap is None:
            continue
        old, _ = grown_figure(pair, heap, place.motion, closing_mm=_SMALL_CLOSING_MM)
        scale, turn, motion = _sharpened(pair, b, old, place)
        if abs(np.log(scale)) < _LEAST_RESIZE and abs(turn) < _LEAST_TURN_DEG:
            continue
        old, new = grown_figure(pair, heap, motion, closing_mm=_SMALL_CLOSING_MM)
        yield SimilarFigure(
            old=old,
            new=new,
            scale=scale,
            turn_deg=turn,
            ncc=0.0,
            gain=0.0,
            strain=place.gain,
            mass_mm=heap.mass_mm,
            explained=lines.by(motion, old, new),
        )


def _sharpened(pair: WarpedPair, b: Complexes, old: BoxPx, place: Strained) -> tuple[float, float, Matrix]:
    """Look around a strained neighbourhood's motion with its own figure alone: still lines around it held it back."""
    at = _around(old, _BORDER_MM * pair.px_per_mm, pair.size)
    part = reduced(np.ascontiguousarray(pair.za[at[1] : at[3], at[0] : at[2]]), _FINE)
    middle = np.array([(at[0] + at[2]) / 2, (at[1] + at[3]) / 2, 1.0])
    dx, dy = (float(v) for v in (place.motion @ middle - middle)[:2])
    found: _Shape = (0.0, place.scale, place.turn_deg, dx, dy)
    for scales, turns, reach in ((_WIDER_SCALES, _WIDER_TURNS_DEG, 4), (_FINEST_SCALES, _FINEST_TURNS_DEG, 2)):
        found = _finer(part, at, b, found, scales, turns, reach)
    _, scale, turn, dx, dy = found
    return scale, turn, _motion(at, scale, turn, dx, dy)


def _around(box: BoxPx, border: float, size: tuple[int, int]) -> tuple[int, int, int, int]:
    """Return whole pixels around a box, within the picture."""
    left, top = max(0, int(box[0] - border)), max(0, int(box[1] - border))
    right, bottom = min(size[0], int(np.ceil(box[2] + border))), min(size[1], int(np.ceil(box[3] + border)))
    return left, top, max(right, left + 4), max(bottom, top + 4)


def _heaps_of_both(versions: tuple[_Version, _Version], k: float) -> Iterator[tuple[Heap, int]]:
    """Give the heaps of either version worth looking for, each once, heaviest first, and whose they are."""
    every = []
    for of, version in enumerate(versions):
        kept: list[Heap] = []
        for closing, density, least, most in (_LARGE, _SMALL):
            heaps = find_heaps(version.loose, version.ridge, k, closing_mm=closing, density=density, least_mm=least)
            fresh = [h for h in heaps if all(shared_of_union(solid_box(h), solid_box(o)) < _SAME_HEAP for o in kept)]
            kept += fresh[:most]
        every += [(heap, of) for heap in kept]
    every.sort(key=lambda one: -one[0].mass_mm)
    yield from every[:_MOST_HEAPS]


def _looked_for(
    pair: WarpedPair, mine: _Version, other: _Version, heap: Heap, lines: ExplainedLines, *, is_back: bool
) -> SimilarFigure | None:
    """Look for a heap of one version in the other; `is_back` where it is one of the new version."""
    part, at = _part_of(pair, mine, heap)
    coarse = _tried(part, at, other.small[_COARSE], pair.px_per_mm)
    fine, b = reduced(part, _FINE), other.small[_FINE]
    best = max(
        (_finer(fine, at, b, one, _FINER_SCALES, _FINER_TURNS_DEG, 3) for one in coarse[:_KEPT]), key=lambda one: one[0]
    )
    reach = round(_REACH_MM * pair.px_per_mm * _FINE)
    shift = _searched(fine, at, b, _FINE, [(1.0, 0.0)], (0.0, 0.0), reach)[0][0]
    if best[0] < _LEAST_NCC or best[0] < shift + _LEAST_GAIN:
        return None
    ncc, scale, turn, dx, dy = _finer(fine, at, b, best, _FINEST_SCALES, _FINEST_TURNS_DEG, 2)
    if abs(np.log(scale)) < _LEAST_RESIZE and abs(turn) < _LEAST_TURN_DEG:
        return None
    motion = _motion(at, scale, turn, dx, dy)
    if is_back:
        motion, scale, turn = np.asarray(np.linalg.inv(motion), np.float64), 1 / scale, -turn
        heap = _carried_back(heap, motion, pair.size)
    old, new = grown_figure(pair, heap, motion)
    return SimilarFigure(
        old=old,
        new=new,
        scale=scale,
        turn_deg=turn,
        ncc=ncc,
        gain=ncc - shift,
        mass_mm=heap.mass_mm,
        explained=lines.by(motion, old, new),
    )


_Shape = tuple[float, float, float, float, float]  # ncc, scale, turn, dx, dy


def _finer(
    part: Complexes,
    at: tuple[int, int, int, int],
    b: Complexes,
    found: _Shape,
    scales: tuple[float, ...],
    turns: tuple[float, ...],
    reach: int,
) -> _Shape:
    """Look around one find at half size."""
    _, scale, turn, dx, dy = found
    return _searched(part, at, b, _FINE, [(scale * s, turn + t) for s in scales for t in turns], (dx, dy), reach)[0]


def _carried_back(heap: Heap, motion: Matrix, size: tuple[int, int]) -> Heap:
    """Return a heap of B as the pixels of A that the motion brings there."""
    at = np.stack([heap.columns, heap.rows, np.ones(len(heap.rows))], 1) @ np.linalg.inv(motion)[:2].T
    columns, rows = np.round(at[:, 0]).astype(np.int64), np.round(at[:, 1]).astype(np.int64)
    return Heap(np.clip(rows, 0, size[1] - 1), np.clip(columns, 0, size[0] - 1), heap.mass_mm)


def _part_of(pair: WarpedPair, mine: _Version, heap: Heap) -> tuple[Complexes, tuple[int, int, int, int]]:
    """Return the heap's piece of its own field, its loose lines at full weight, and where it was cut (px)."""
    left, top, right, bottom = _around(solid_box(heap), _BORDER_MM * pair.px_per_mm, pair.size)
    loose = cv2.dilate(mine.loose[top:bottom, left:right], np.ones((3, 3), np.uint8))
    weight = _OLD_LINE_MINE + (1 - _OLD_LINE_MINE) * np.minimum(1, loose)
    return (mine.z[top:bottom, left:right] * weight).astype(np.complex64), (left, top, right, bottom)


def _tried(part: Complexes, at: tuple[int, int, int, int], b: Complexes, px_per_mm: float) -> list[_Shape]:
    """Try every shape at every place within reach, coarsely: (ncc, scale, turn, dx, dy in working px), best first."""
    shapes, reach = [(s, t) for s in _SCALES for t in _TURNS_DEG], round(_REACH_MM * px_per_mm * _COARSE)
    return _searched(reduced(part, _COARSE), at, b, _COARSE, shapes, (0.0, 0.0), reach)


def _searched(
    part: Complexes,
    at: tuple[int, int, int, int],
    b: Complexes,
    factor: float,
    shapes: list[tuple[float, float]],
    middle: tuple[float, float],
    reach: int,
) -> list[_Shape]:
    """Look for each shape of the part within `reach` px (of the reduced size) of where `middle` would shift it."""
    out = []
    centre = ((at[0] + at[2]) / 2 + middle[0]) * factor, ((at[1] + at[3]) / 2 + middle[1]) * factor
    for scale, turn in shapes:
        template = _reshaped(part, scale, turn)
        mask = (np.abs(template) > 0.02).astype(np.float32)
        height, width = template.shape
        left, top = round(centre[0] - width / 2) - reach, round(centre[1] - height / 2) - reach
        window = cut_out(b, left, top, width + 2 * reach, height + 2 * reach)
        scores = correlation(template, window, mask)
        row, column = divmod(int(np.argmax(scores)), scores.shape[1])
        x, y = left + column + width / 2, top + row + height / 2
        dx, dy = x / factor - (at[0] + at[2]) / 2, y / factor - (at[1] + at[3]) / 2
        out.append((float(scores[row, column]), scale, turn, dx, dy))
    return sorted(out, key=lambda one: -one[0])


def _reshaped(part: Complexes, scale: float, degrees: float) -> Complexes:
    """Return the part resized and turned about its middle, in a frame that holds all of it."""
    height, width = part.shape
    c, s = scale * np.cos(np.deg2rad(degrees)), scale * np.sin(np.deg2rad(degrees))
    wide = max(3, int(np.ceil(abs(c) * width + abs(s) * height)))
    high = max(3, int(np.ceil(abs(s) * width + abs(c) * height)))
    x, y = (width - 1) / 2, (height - 1) / 2
    forward: Matrix = np.array(
        [
            [c, -s, (wide - 1) / 2 - c * x + s * y],
            [s, c, (high - 1) / 2 - s * x - c * y],
            [0, 0, 1],
        ]
    )
    return fetch_field(part, np.asarray(np.linalg.inv(forward), np.float64), (wide, high))


def _motion(at: tuple[int, int, int, int], scale: float, degrees: float, dx: float, dy: float) -> Matrix:
    """Return the figure's motion in working px: resized and turned about the middle of `at`, then shifted."""
    x, y = (at[0] + at[2] - 1) / 2, (at[1] + at[3] - 1) / 2
    c, s = scale * np.cos(np.deg2rad(degrees)), scale * np.sin(np.deg2rad(degrees))
    return np.array([[c, -s, x + dx - c * x + s * y], [s, c, y + dy - s * x - c * y], [0, 0, 1]])


def joined_similar(found: list[SimilarFigure]) -> list[SimilarFigure]:
    """Join finds that speak of one motion and lie on each other: pieces of one figure."""
    out: list[SimilarFigure] = []
    for one in sorted(found, key=lambda f: -f.mass_mm):
        i = next((i for i, other in enumerate(out) if _is_one(one, other)), None)
        if i is None:
            out.append(one)
            continue
        other = out[i]
        out[i] = replace(
            other,
            old=union([one.old, other.old]),
            new=union([one.new, other.new]),
            ncc=max(one.ncc, other.ncc),
            gain=max(one.gain, other.gain),
            mass_mm=one.mass_mm + other.mass_mm,
        )
    return out


def _is_one(one: SimilarFigure, other: SimilarFigure) -> bool:
    near = min(one.old[2], other.old[2]) > max(one.old[0], other.old[0]) and min(one.old[3], other.old[3]) > max(
        one.old[1], other.old[1]
    )
    return near and abs(np.log(one.scale / other.scale)) < 0.08 and abs(one.turn_deg - other.turn_deg) < 6
