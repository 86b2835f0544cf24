"""Paint compared with paint: what another scan makes of it is no change, what was painted anew is one."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from reviews.imaging.changes.colour_maps import explained_share, in_colours_of, lab_distance
from reviews.imaging.changes.colours import SAME_MEDIUM, is_painted, tolerant_difference
from tests.drawing_truth import counted, hits
from tests.imaging.compared import ONE_MEDIUM, boxes_mm, compared

PX_PER_MM = 1.2
SEEN = np.ones((300, 500), bool)
FIGURE = np.s_[120:180, 200:290]


def painted_page(seed: int = 1) -> np.ndarray:
    """Return a page of flat shapes in many colours, as float RGB."""
    rng = np.random.default_rng(seed)
    page = np.full((300, 500, 3), (0.8, 0.85, 0.9), np.float32)
    page[170:] = (0.45, 0.6, 0.35)
    for _ in range(25):
        centre, axes = rng.integers((0, 0), (500, 300)), rng.integers(8, 35, 2)
        colour = tuple(float(v) for v in rng.uniform(0.15, 0.9, 3))
        cv2.ellipse(
            page, tuple(map(int, centre)), tuple(map(int, axes)), float(rng.uniform(0, 180)), 0, 360, colour, -1
        )
    page[FIGURE] = (0.8, 0.3, 0.25)
    return page


def as_lab(rgb: np.ndarray) -> np.ndarray:
    return cv2.cvtColor(rgb.astype(np.float32), cv2.COLOR_RGB2LAB)


def scanned_again(rgb: np.ndarray) -> np.ndarray:
    """Return the page under another gamma, white balance and cloudy light."""
    x, y = np.meshgrid(np.linspace(0, 3, 500), np.linspace(0, 2, 300))
    light = 1 + 0.08 * np.sin(2.1 * x + 0.5) * np.cos(2.7 * y)
    return np.clip(rgb**1.2 * np.array([0.95, 0.9, 0.98]) * light[..., None], 0, 1)


def test_another_scan_of_the_same_paint_is_no_change():
    page = painted_page()
    a, b = as_lab(page), as_lab(scanned_again(page))
    assert np.median(lab_distance(a, b)) > 5
    mapped, explained = in_colours_of(a, b, SEEN, PX_PER_MM)
    left = tolerant_difference(mapped, b, 1)
    assert explained > 0.9
    assert np.median(left) < 1.5 and np.percentile(left, 99) < 7


def test_a_figure_painted_anew_is_not_taken_for_the_pages_colours():
    page, anew = painted_page(), painted_page()
    anew[FIGURE] = (0.25, 0.35, 0.8)
    mapped, _ = in_colours_of(as_lab(page), as_lab(scanned_again(anew)), SEEN, PX_PER_MM)
    left = tolerant_difference(mapped, as_lab(scanned_again(anew)), 1)
    inside = np.zeros_like(SEEN)
    inside[FIGURE] = True
    assert np.percentile(left[inside], 10) > 30
    assert np.percentile(left[~inside], 98) < 7


def test_other_paint_altogether_is_not_explained():
    page = as_lab(painted_page())
    assert explained_share(page.reshape(-1, 3), page[::-1].reshape(-1, 3)) < SAME_MEDIUM
    assert explained_share(page.reshape(-1, 3), page.reshape(-1, 3)) == 1


def test_a_drawing_is_not_called_painted_for_the_dark_beyond_its_sheet():
    drawing = np.zeros((400, 600, 3), np.float32)
    inside = np.zeros((400, 600), bool)
    drawing[40:, 80:, 0], inside[40:, 80:] = 98.0, True
    cv2.circle(drawing, (300, 200), 60, (10.0, 0.0, 0.0), 2)
    assert not is_painted(drawing, inside)
    assert is_painted(as_lab(painted_page()), SEEN)
    assert not is_painted(drawing, np.zeros_like(inside))


@pytest.mark.slow
def test_small_details_and_new_colours_are_found_in_one_medium():
    right = shown = found = wanted = 0
    for kind, seed, edit in ONE_MEDIUM:
        pair, _, comparison = compared(kind, seed, n_edits=4, edit_kind=edit)
        boxes, edits = [boxes_mm(pair, c) for c in comparison.changes], counted(pair)
        right, shown = right + sum(any(hits(*b, e) for e in edits) for b in boxes), shown + len(boxes)
        found, wanted = found + sum(any(hits(*b, e) for b in boxes) for e in edits), wanted + len(edits)
    assert wanted >= 8
    assert found / wanted >= 0.6
    assert right / shown >= 0.85


@pytest.mark.slow
def test_flat_colours_on_bare_paper_are_compared_by_their_hue():
    # Most of this page is light paper, so it counts as a drawing; two figures were given other colours.
    pair, _, comparison = compared("flats>flats", 266)
    boxes = [boxes_mm(pair, c) for c in comparison.changes]
    recoloured = [e for e in counted(pair) if e.kind == "recolour"]
    assert len(recoloured) == 2
    assert all(any(hits(*b, e) for b in boxes) for e in recoloured)
