"""Figures that were turned or resized: found, large or small, and told from those that were not."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np
import pytest

from reviews.imaging.arrays import Pixels
from reviews.imaging.changes.comparing import compare
from reviews.imaging.changes.explained_lines import ExplainedLines
from reviews.imaging.changes.fields import prepare
from reviews.imaging.changes.local_strain import strained_places
from reviews.imaging.changes.similar_figures import find_similar
from reviews.imaging.changes.strokes import find_unmatched
from reviews.imaging.changes.warp import WarpedPair, warp_pair

K, WIDTH_MM = 2.4, 500.0  # px per mm of the working size
Placed = dict[str, tuple[float, float, float, float, float]]  # x, y, size in mm; scale; turn in degrees
# Two rows of figures, as different from each other as their numbers of corners and spokes.
STANDING: Placed = {f"{i}": (45.0 + 80 * (i % 6), 60.0 + 125 * (i // 6), 34.0, 1.0, 7.0 * i) for i in range(12)} | {
    "small": (85.0, 122.0, 15.0, 1.0, 0.0)
}


def figure(picture: Pixels, name: str, x: float, y: float, size: float, degrees: float) -> None:
    """Draw an outline of so many corners with spokes and an eye off its middle, so that no turn looks like none."""
    n = 5 if name == "small" else 3 + int(name) % 5
    rng = np.random.default_rng([sum(map(ord, name)), 3])
    angles = np.deg2rad(degrees) + np.linspace(0, 2 * np.pi, n, endpoint=False) + rng.uniform(-0.25, 0.25, n)
    far = size / 2 * rng.uniform(0.7, 1.1, n)
    corners = np.stack([x + far * np.cos(angles), y + far * np.sin(angles)], 1) * K * 2
    ink, thick = (40, 40, 50), 4
    cv2.polylines(picture, [np.round(corners).astype(np.int32)], True, ink, thick, cv2.LINE_AA)
    middle = (round(x * K * 2), round(y * K * 2))
    for corner in corners[: n // 2 + 1]:
        cv2.line(picture, middle, tuple(int(v) for v in corner), ink, 3, cv2.LINE_AA)
    eye = x + 0.2 * size * np.cos(angles[-1]), y + 0.2 * size * np.sin(angles[-1])
    cv2.circle(picture, tuple(round(v * K * 2) for v in eye), round(0.09 * size * K * 2), ink, 3, cv2.LINE_AA)


def page(**changed: tuple[float, float, float, float, float] | None) -> Pixels:
    """Draw the page at twice the working size; `changed` figures stand otherwise, or not at all."""
    picture = np.full((round(250 * K * 2), round(WIDTH_MM * K * 2), 3), 250, np.uint8)
    for name, placed in (STANDING | {key.lstrip("_"): value for key, value in changed.items()}).items():
        if placed is not None:
            x, y, size, scale, degrees = placed
            figure(picture, name, x, y, size * scale, degrees)
    return picture


def with_motion(name: str, *, scale: float = 1.0, turn: float = 0.0, dx: float = 0.0) -> Pixels:
    x, y, size, _, degrees = STANDING[name]
    return page(**{f"_{name}": (x + dx, y, size, scale, degrees + turn)})


@cache
def laid(name: str, scale: float, turn: float) -> WarpedPair:
    a, b = prepare(page()), prepare(with_motion(name, scale=scale, turn=turn))
    return warp_pair(a, b, np.eye(3), K)


def is_in(name: str, x: float, y: float) -> bool:
    left, top, size, *_ = STANDING[name]
    return abs(x - left) < size / 2 + 3 and abs(y - top) < size / 2 + 3


@pytest.mark.parametrize(("scale", "turn"), [(0.8, 0.0), (1.25, 0.0), (1.0, 16.0)])
def test_a_figure_of_15_mm_that_hardly_looses_a_line_is_found_by_what_its_lines_do_together(scale, turn):
    pair = laid("small", scale, turn)
    found = [place for place in strained_places(pair) if is_in("small", place.x / K, place.y / K)]
    assert found
    best = max(found, key=lambda place: place.gain)
    assert abs(np.log(best.scale / scale)) < 0.12
    assert abs(best.turn_deg - turn) < 6
    assert any(
        one.strain > 0 and abs(np.log(one.scale / scale)) < 0.08 and abs(one.turn_deg - turn) < 4
        for one in find_similar(pair, find_unmatched(pair))
    )


def test_nothing_is_strained_where_nothing_was_changed():
    pair = laid("small", 1.0, 0.0)
    assert strained_places(pair) == []
    assert find_similar(pair, find_unmatched(pair)) == []


def test_a_true_turn_explains_the_loose_lines_of_both_and_another_one_does_not():
    pair = laid("3", 1.0, 22.0)
    unmatched = find_unmatched(pair)
    best = max(find_similar(pair, unmatched), key=lambda one: one.mass_mm)
    assert abs(best.turn_deg - 22) < 3
    assert abs(best.scale - 1) < 0.05
    seen = best.explained
    assert min(seen["explained_old"], seen["explained_new"]) > 0.7
    assert seen["explained_old"] - seen["chance_old"] > 0.3
    assert seen["alike_more"] > 0.2
    x, y, *_ = STANDING["3"]
    c, s = np.cos(np.deg2rad(-22)), np.sin(np.deg2rad(-22))
    wrong = np.array([[c, -s, x * K - c * x * K + s * y * K], [s, c, y * K - s * x * K - c * y * K], [0, 0, 1]])
    other = ExplainedLines(pair, unmatched).by(wrong, best.old, best.new)
    assert other["explained_old"] < seen["explained_old"] - 0.3
    assert other["alike"] < seen["alike"] - 0.3


@pytest.mark.parametrize(("scale", "turn"), [(0.78, 0.0), (1.0, -18.0)])
def test_a_turned_or_resized_figure_is_named_so(scale, turn):
    found = compare(page(), with_motion("8", scale=scale, turn=turn), WIDTH_MM)
    (one,) = found.changes
    assert one.label == "changed"
    assert abs(np.log(one.scale / scale)) < 0.06
    assert abs(one.turn_deg - turn) < 3


def test_what_moved_came_or_went_is_called_neither_turned_nor_resized():
    x, y, size, scale, degrees = STANDING["8"]
    for changed in (
        with_motion("8", dx=17.0),
        page(_8=None),
        page(_8=(x, y, size, scale, degrees), _3=None, _5=(445.0, 118.0, 34.0, 1.0, 35.0)),
    ):
        found = compare(page(), changed, WIDTH_MM)
        assert found.changes
        assert all((one.scale, one.turn_deg) == (1.0, 0.0) for one in found.changes)
