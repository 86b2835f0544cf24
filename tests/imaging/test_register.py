"""Register of a plate on its art: known shifts asked back, nothing told where the art draws nothing of the plate."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from reviews.imaging.proof import register
from reviews.imaging.proof.register import MOST_PX, PX_PER_MM, measure_shift, px_per_mm_of

SIZE = (900, 1500)


def shapes(seed: int) -> np.ndarray:
    """Draw a plate: stars, discs and letters-like strokes, white where there is finish."""
    rng = np.random.default_rng(seed)
    plate = np.zeros(SIZE, np.uint8)
    for _ in range(6):
        x, y, r = (int(v) for v in (rng.integers(150, 1350), rng.integers(150, 750), rng.integers(30, 90)))
        turns = rng.random() * 6
        radii = [r if n % 2 else r * 0.45 for n in range(10)]
        angles = [turns + n * np.pi / 5 for n in range(10)]
        star = [(x + one * np.cos(at), y + one * np.sin(at)) for one, at in zip(radii, angles, strict=True)]
        cv2.fillPoly(plate, [np.round(star).astype(np.int32)], 255)
        cv2.circle(plate, (int(rng.integers(150, 1350)), int(rng.integers(150, 750))), int(r * 0.6), 255, -1)
    return plate


def painted(plate: np.ndarray | None, seed: int) -> np.ndarray:
    """Paint art: soft blots, strokes and grain, with the plate's shapes in a colour of their own or not at all."""
    rng = np.random.default_rng(seed + 1000)
    blots = rng.integers(60, 220, (7, 11, 3), dtype=np.uint8)
    art = cv2.resize(blots, SIZE[::-1], interpolation=cv2.INTER_CUBIC)
    for _ in range(120):
        ends = [(int(rng.integers(0, 1500)), int(rng.integers(0, 900))) for _ in range(2)]
        cv2.line(art, *ends, tuple(int(v) for v in rng.integers(20, 240, 3)), int(rng.integers(1, 6)), cv2.LINE_AA)
    if plate is not None:
        art[plate > 127] = tuple(int(v) for v in rng.integers(150, 255, 3))
    return np.clip(art + rng.normal(0, 6, art.shape), 0, 255).astype(np.uint8)


def moved(plate: np.ndarray, right_mm: float, down_mm: float) -> np.ndarray:
    by = np.float32([[1, 0, right_mm * PX_PER_MM], [0, 1, down_mm * PX_PER_MM]])
    return np.asarray(cv2.warpAffine(plate, by, SIZE[::-1], flags=cv2.INTER_LINEAR), np.uint8)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize(("right", "down"), [(0.0, 0.0), (0.3, 0.0), (-0.55, 0.8), (1.7, -2.2)])
def test_a_known_shift_is_told_to_the_twentieth_of_a_millimetre(seed, right, down):
    plate = shapes(seed)
    found = measure_shift(moved(plate, right, down), painted(plate, seed))
    assert found is not None
    assert (found.right_mm, found.down_mm) == (pytest.approx(right, abs=0.05), pytest.approx(down, abs=0.05))


@pytest.mark.parametrize("seed", range(4))
def test_at_half_the_resolution_a_known_shift_is_told_as_closely(seed):
    plate = shapes(seed)
    halves = [
        cv2.resize(one, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        for one in (moved(plate, -0.55, 0.8), painted(plate, seed))
    ]
    found = measure_shift(*halves, PX_PER_MM / 2)
    assert (found.right_mm, found.down_mm) == (pytest.approx(-0.55, abs=0.05), pytest.approx(0.8, abs=0.05))


def test_a_large_piece_is_looked_at_more_coarsely_and_never_in_more_pixels():
    assert px_per_mm_of((506, 256), (520, 310)) == PX_PER_MM
    coarse = px_per_mm_of((506, 256), (1100, 450))
    assert PX_PER_MM / 2 < coarse < PX_PER_MM and 1100 * 450 * coarse**2 == pytest.approx(MOST_PX)


def test_edges_are_never_made_of_the_whole_picture_at_once(monkeypatch):
    """Memory would grow with the picture: an edge takes eight bytes a pixel, and more while it is made."""
    real, seen = register._edges, []
    monkeypatch.setattr(register, "_edges", lambda part: seen.append(part.shape[:2]) or real(part))
    plate = np.tile(shapes(2), (2, 2))
    assert measure_shift(plate, np.tile(painted(shapes(2), 2), (2, 2, 1))) is not None
    assert len(seen) > 20 and max(high * wide for high, wide in seen) < 300 * 300


@pytest.mark.parametrize("seed", range(12))
def test_nothing_is_told_where_the_art_does_not_draw_what_the_plate_holds(seed):
    assert measure_shift(shapes(seed), painted(None, seed)) is None


def test_nothing_is_told_of_an_empty_plate_of_one_line_or_of_what_lies_farther_off_than_register_goes():
    plate = shapes(3)
    assert measure_shift(np.zeros(SIZE, np.uint8), painted(plate, 3)) is None
    line = np.zeros(SIZE, np.uint8)
    line[440:450] = 255
    art = np.full((*SIZE, 3), 200, np.uint8)
    art[440:450] = 30
    assert measure_shift(line, art) is None, "along a line no place stands out"
    assert measure_shift(moved(plate, 9, 0), painted(plate, 3)) is None
