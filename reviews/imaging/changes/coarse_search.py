"""First guesses for alignment: every turn and scale in range, every shift at once by Fourier correlation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from reviews.imaging.arrays import Complexes, Matrix
from reviews.imaging.changes.fields import fetch_field, resize_matrix

COARSE_PX = 150
TURNS_DEG = tuple(float(t) for t in np.arange(-7.5, 7.6, 1.5))
SCALES = tuple(float(0.70 * 1.0535**k) for k in range(15))
WIDE_SCALES = tuple(float(0.55 * 1.0535**k) for k in range(27))  # up to 2.1: a part of the page only
_WHITEN = 0.5  # spectra divided by |F|^0.5: between plain correlation (0) and phase only (1)
_REACH = 0.30  # shift of the middle, share of each side
_APART = 0.04  # two guesses are one when their corners differ by less than this share of the width


@dataclass(frozen=True, eq=False)
class Guess:
    a_to_b: Matrix  # at COARSE_PX, 3x3
    peak: float  # 0..1


def guesses(
    small_a: Complexes,
    small_b: Complexes,
    *,
    turns: Sequence[float] = TURNS_DEG,
    scales: Sequence[float] = SCALES,
    keep: int = 5,
) -> list[Guess]:
    """Return up to `keep` distinct guesses, best first, for two fields of COARSE_PX.

    The guess alone is right to about 1 % of the width; it only seeds the finer steps.
    """
    size_a, size_b = small_a.shape[::-1], small_b.shape[::-1]
    canvas = tuple(fft.next_fast_len(int(side * (1 + 2 * _REACH))) for side in size_b)
    offset = np.array([(c - s) // 2 for c, s in zip(canvas, size_b, strict=True)], float)
    board = np.zeros((canvas[1], canvas[0]), np.complex64)
    board[int(offset[1]) : int(offset[1]) + size_b[1], int(offset[0]) : int(offset[0]) + size_b[0]] = small_b
    target = _white(board[None])[0]
    window = _shift_window(canvas, size_b)
    found: list[tuple[float, Matrix]] = []
    for turn in turns:
        centred = [_centred(size_a, size_b, scale, turn) for scale in scales]
        found += _peaks(small_a, target, centred, offset, (canvas[0], canvas[1]), window)
    found.sort(key=lambda f: -f[0])
    return _distinct(found, (size_a[0], size_a[1]), keep)


def _centred(size_a: tuple[int, ...], size_b: tuple[int, ...], scale: float, degrees: float) -> Matrix:
    c, s = scale * np.cos(np.deg2rad(degrees)), scale * np.sin(np.deg2rad(degrees))
    ax, ay = (size_a[0] - 1) / 2, (size_a[1] - 1) / 2
    bx, by = (size_b[0] - 1) / 2, (size_b[1] - 1) / 2
    return np.array([[c, -s, bx - c * ax + s * ay], [s, c, by - s * ax - c * ay], [0, 0, 1]])


def _white(stack: Complexes) -> Complexes:
    spectra = fft.fft2(stack, axes=(1, 2))
    spectra = spectra / np.maximum(np.abs(spectra), 1e-6) ** _WHITEN
    norm = np.sqrt((np.abs(spectra) ** 2).sum((1, 2), keepdims=True))
    return np.asarray(spectra / np.maximum(norm, 1e-9), np.complex64)


def _shift_window(canvas: tuple[int, ...], size_b: tuple[int, ...]) -> NDArray[np.bool_]:
    dx = np.abs(fft.fftfreq(canvas[0], 1 / canvas[0])) <= _REACH * size_b[0]
    dy = np.abs(fft.fftfreq(canvas[1], 1 / canvas[1])) <= _REACH * size_b[1]
    return np.asarray(dy[:, None] & dx[None, :], bool)


def _peaks(
    small_a: Complexes,
    target: Complexes,
    centred: list[Matrix],
    offset: NDArray[np.float64],
    canvas: tuple[int, int],
    window: NDArray[np.bool_],
) -> list[tuple[float, Matrix]]:
    """Return the two best shifts for each of the given placements of A about B's middle."""
    to_canvas = np.eye(3)
    to_canvas[:2, 2] = offset
    placed = np.stack(
        [fetch_field(small_a, np.asarray(np.linalg.inv(to_canvas @ m), np.float64), canvas) for m in centred]
    )
    maps = fft.ifft2(target[None] * np.conj(_white(placed)), axes=(1, 2)).real * canvas[0] * canvas[1]
    maps = np.where(window, maps, -1)
    found: list[tuple[float, Matrix]] = []
    for m, correlation in zip(centred, maps, strict=True):
        for _ in range(2):
            row, column = np.unravel_index(int(np.argmax(correlation)), correlation.shape)
            shift = np.eye(3)
            shift[:2, 2] = (_signed(int(column), canvas[0]), _signed(int(row), canvas[1]))
            found.append((float(correlation[row, column]), shift @ m))
            rows = np.arange(row - 4, row + 5) % canvas[1]
            columns = np.arange(column - 4, column + 5) % canvas[0]
            correlation[np.ix_(rows, columns)] = -1
    return found


def _signed(index: int, length: int) -> int:
    return index - length if index > length // 2 else index


def corners(size: tuple[int, int]) -> NDArray[np.float64]:
    """Return the middles of the four corner pixels, one row (x, y, 1) each."""
    w, h = size[0] - 1, size[1] - 1
    return np.array([[0, 0, 1], [w, 0, 1], [w, h, 1], [0, h, 1]], float)


def corner_distance(one: Matrix, other: Matrix, size_a: tuple[int, int]) -> float:
    """Return how far apart two maps put A's corners, on average, as a share of A's width in B."""
    points = corners(size_a)
    apart = np.hypot(*((points @ one.T - points @ other.T)[:, :2].T)).mean()
    scale = np.sqrt(abs(np.linalg.det(one[:2, :2])))
    return float(apart / (scale * size_a[0]))


def _distinct(found: list[tuple[float, Matrix]], size_a: tuple[int, int], keep: int) -> list[Guess]:
    kept: list[Guess] = []
    for peak, m in found:
        if all(corner_distance(m, g.a_to_b, size_a) > _APART for g in kept):
            kept.append(Guess(m, peak))
        if len(kept) == keep:
            break
    return kept


def rescaled(matrix: Matrix, factor: float) -> Matrix:
    """Return the same 3x3 map in px between the same two pictures, both made larger or smaller by `factor`."""
    resize = resize_matrix(factor)
    return resize @ matrix @ np.linalg.inv(resize)
