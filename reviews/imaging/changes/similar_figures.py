"""Figures that were turned or resized: a heap of lines without counterpart, looked for at other sizes and turns.

The search of `template_search.py` knows shifts only, so what was turned or resized falls to pieces there. Here each
heap is looked for once more, coarsely over sizes and turns and then finely, and has to be plainly better found than by
any shift. What follows the found motion is then gathered around it: the whole figure, not only its loose lines.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from reviews.imaging.arrays import BoxPx, Complexes, Floats32, Matrix
from reviews.imaging.changes.fields import fetch_field, reduced
from reviews.imaging.changes.heaps import Heap, find_heaps, solid_box
from reviews.imaging.changes.matching import correlation, cut_out
from reviews.imaging.changes.regions import union
from reviews.imaging.changes.strokes import Unmatched
from reviews.imaging.changes.warp import WarpedPair

METHOD = "similar-figures 1"
_CLOSING_MM, _DENSITY, _LEAST_MM, _MOST_HEAPS = 9.0, 0.07, 25.0, 8
_SCALES = tuple(float(s) for s in np.geomspace(0.62, 1.6, 9))
_TURNS_DEG = tuple(float(t) for t in np.linspace(-45, 45, 13))
_REACH_MM, _BORDER_MM = 25.0, 1.5
_OLD_LINE_A, _OLD_LINE_B = 0.35, 0.45  # what lines with a counterpart weigh beside those without
_COARSE, _FINE = 0.25, 0.5  # of the working size
_KEPT = 4  # coarse finds that are looked at finely
_FINER_SCALES, _FINER_TURNS_DEG = (0.95, 1.0, 1.05), (-3.5, 0.0, 3.5)
_LEAST_NCC, _LEAST_GAIN = 0.40, 0.08
_LEAST_RESIZE, _LEAST_TURN_DEG = 0.08, 6.0
_AROUND_MM, _FOLLOW_BLUR_MM, _FOLLOWS, _FOLLOWS_MORE, _GROW_CLOSING_MM = 40.0, 2.2, 0.45, 0.15, 14.0


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


def find_similar(pair: WarpedPair, unmatched: Unmatched) -> list[SimilarFigure]:
    """Return the figures of A that were plainly turned or resized, heaviest heap first."""
    k = pair.px_per_mm
    heaps = find_heaps(unmatched.a, unmatched.ridges_a, k, closing_mm=_CLOSING_MM, density=_DENSITY, least_mm=_LEAST_MM)
    fresh_b = cv2.dilate(unmatched.b, np.ones((3, 3), np.uint8))
    b = (pair.zb * (_OLD_LINE_B + (1 - _OLD_LINE_B) * np.minimum(1, fresh_b))).astype(np.complex64)
    small = {factor: reduced(b, factor) for factor in (_COARSE, _FINE)}
    found = (_looked_for(pair, unmatched, heap, small) for heap in heaps[:_MOST_HEAPS])
    return [one for one in found if one is not None]


def _looked_for(pair: WarpedPair, unmatched: Unmatched, heap: Heap, b: dict[float, Complexes]) -> SimilarFigure | None:
    part, at = _part_of(pair, unmatched, heap)
    coarse = _tried(part, at, b[_COARSE], _COARSE, pair.px_per_mm, [(s, t) for s in _SCALES for t in _TURNS_DEG])
    fine = reduced(part, _FINE)
    best: tuple[float, float, float, float, float] | None = None
    for _, scale, turn, dx, dy in coarse[:_KEPT]:
        shapes = [(scale * s, turn + t) for s in _FINER_SCALES for t in _FINER_TURNS_DEG]
        one = _searched(fine, at, b[_FINE], _FINE, shapes, (dx, dy), 3)[0]
        best = one if best is None or one[0] > best[0] else best
    reach = round(_REACH_MM * pair.px_per_mm * _FINE)
    shift = _searched(fine, at, b[_FINE], _FINE, [(1.0, 0.0)], (0.0, 0.0), reach)[0][0]
    if best is None or best[0] < _LEAST_NCC or best[0] < shift + _LEAST_GAIN:
        return None
    ncc, scale, turn, dx, dy = best
    if abs(np.log(scale)) < _LEAST_RESIZE and abs(turn) < _LEAST_TURN_DEG:
        return None
    old, new = _grown(pair, heap, _motion(at, scale, turn, dx, dy))
    return SimilarFigure(old=old, new=new, scale=scale, turn_deg=turn, ncc=ncc, gain=ncc - shift, mass_mm=heap.mass_mm)


def _part_of(pair: WarpedPair, unmatched: Unmatched, heap: Heap) -> tuple[Complexes, tuple[int, int, int, int]]:
    """Return the heap's piece of A's field, its loose lines at full weight, and where it was cut (px)."""
    border = _BORDER_MM * pair.px_per_mm
    x0, y0, x1, y1 = solid_box(heap)
    left, top = max(0, int(x0 - border)), max(0, int(y0 - border))
    right, bottom = min(pair.size[0], int(np.ceil(x1 + border))), min(pair.size[1], int(np.ceil(y1 + border)))
    mine = cv2.dilate(unmatched.a[top:bottom, left:right], np.ones((3, 3), np.uint8))
    weight = _OLD_LINE_A + (1 - _OLD_LINE_A) * np.minimum(1, mine)
    return (pair.za[top:bottom, left:right] * weight).astype(np.complex64), (left, top, right, bottom)


def _tried(
    part: Complexes,
    at: tuple[int, int, int, int],
    b: Complexes,
    factor: float,
    px_per_mm: float,
    shapes: list[tuple[float, float]],
) -> list[tuple[float, float, float, float, float]]:
    """Try every shape at every place within reach, coarsely: (ncc, scale, turn, dx, dy in working px), best first."""
    reach = round(_REACH_MM * px_per_mm * factor)
    return _searched(reduced(part, factor), at, b, factor, shapes, (0.0, 0.0), reach)


def _searched(
    part: Complexes,
    at: tuple[int, int, int, int],
    b: Complexes,
    factor: float,
    shapes: list[tuple[float, float]],
    middle: tuple[float, float],
    reach: int,
) -> list[tuple[float, float, float, float, float]]:
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


def _grown(pair: WarpedPair, heap: Heap, motion: Matrix) -> tuple[BoxPx, BoxPx]:
    """Return the boxes of all that follows the motion and hangs together with the heap, before and after it."""
    k = pair.px_per_mm
    x0, y0, x1, y1 = solid_box(heap)
    around = _AROUND_MM * k
    left, top = max(0, int(x0 - around)), max(0, int(y0 - around))
    right, bottom = min(pair.size[0], int(x1 + around)), min(pair.size[1], int(y1 + around))
    here: Matrix = np.array([[1, 0, left], [0, 1, top], [0, 0, 1]], np.float64)
    size = (right - left, bottom - top)
    moved = fetch_field(pair.zb, motion @ here, size)
    mine, stays = pair.za[top:bottom, left:right], pair.zb[top:bottom, left:right]
    follows = _likeness(mine, moved, k)
    marked = (np.abs(mine) > 0.12) & (follows > _FOLLOWS) & (follows > _likeness(mine, stays, k) + _FOLLOWS_MORE)
    marked[np.clip(heap.rows - top, 0, size[1] - 1), np.clip(heap.columns - left, 0, size[0] - 1)] = True
    side = 2 * round(_GROW_CLOSING_MM * k / 2) + 1
    kernel = cv2.getStructuringElement(cv2.MORPH_RECT, (side, side))
    joined = cv2.morphologyEx(marked.astype(np.uint8), cv2.MORPH_CLOSE, kernel)
    _, labels = cv2.connectedComponents(joined, connectivity=8)
    own = np.bincount(labels[np.clip(heap.rows - top, 0, size[1] - 1), np.clip(heap.columns - left, 0, size[0] - 1)])
    rows, columns = np.nonzero(marked & (labels == int(np.argmax(own))))
    old = solid_box(Heap(rows + top, columns + left, heap.mass_mm))
    corners = np.array([[old[i], old[j], 1.0] for i in (0, 2) for j in (1, 3)])
    points = np.stack([columns + left, rows + top, np.ones(len(rows))], 1) if len(rows) else corners
    after = points @ motion.T
    low, high = np.percentile(after[:, :2], 1.5, 0), np.percentile(after[:, :2], 98.5, 0)
    return old, (float(low[0]), float(low[1]), float(high[0]) + 1, float(high[1]) + 1)


def _likeness(mine: Complexes, other: Complexes, k: float) -> Floats32:
    """Return the local correlation of two fields of one frame (-1..1)."""
    sigma = _FOLLOW_BLUR_MM * k
    both = cv2.GaussianBlur((mine * np.conj(other)).real.astype(np.float32), (0, 0), sigma)
    power = [cv2.GaussianBlur((np.abs(z) ** 2).astype(np.float32), (0, 0), sigma) for z in (mine, other)]
    return np.asarray(both / np.sqrt(np.maximum(power[0] * np.maximum(power[1], 0.15 * power[0]), 1e-8)), np.float32)


def joined_similar(found: list[SimilarFigure]) -> list[SimilarFigure]:
    """Join finds that speak of one motion and lie on each other: pieces of one figure."""
    out: list[SimilarFigure] = []
    for one in sorted(found, key=lambda f: -f.mass_mm):
        i = next((i for i, other in enumerate(out) if _is_one(one, other)), None)
        if i is None:
            out.append(one)
            continue
        other = out[i]
        out[i] = SimilarFigure(
            old=union([one.old, other.old]),
            new=union([one.new, other.new]),
            scale=other.scale,
            turn_deg=other.turn_deg,
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
