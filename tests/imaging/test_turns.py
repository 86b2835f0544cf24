"""Pieces of a turned figure are one place; figures that moved each for itself stay apart."""

from __future__ import annotations

import numpy as np
import pytest

from reviews.imaging.arrays import BoxPx
from reviews.imaging.changes.regions import FoundRegion
from reviews.imaging.changes.turned_figures import join_turned

K = 2.0  # px per mm


def moved(middle_mm: tuple[float, float], vector_mm: tuple[float, float], mass: float = 60.0) -> FoundRegion:
    x, y = middle_mm
    old: BoxPx = ((x - 10) * K, (y - 8) * K, (x + 10) * K, (y + 8) * K)
    dx, dy = vector_mm[0] * K, vector_mm[1] * K
    new = (old[0] + dx, old[1] + dy, old[2] + dx, old[3] + dy)
    return FoundRegion(label="moved", old=old, new=new, vector_mm=vector_mm, mass_mm=mass)


def turned(degrees: float, scale: float, *middles: tuple[float, float]) -> list[FoundRegion]:
    """Return pieces that turned and grew about (100, 100) mm."""
    regions = []
    for x, y in middles:
        off = (scale * np.exp(1j * np.deg2rad(degrees)) - 1) * complex(x - 100, y - 100)
        regions.append(moved((x, y), (float(off.real), float(off.imag))))
    return regions


CORNERS = ((80.0, 80.0), (120.0, 82.0), (118.0, 121.0), (82.0, 118.0))


@pytest.mark.parametrize(("degrees", "scale"), [(15.0, 1.0), (-10.0, 1.0), (0.0, 1.3), (0.0, 0.75), (12.0, 1.1)])
def test_corners_of_a_turned_or_resized_figure_are_one_changed_place(degrees, scale):
    (whole,) = join_turned(turned(degrees, scale, *CORNERS), K)
    assert whole.label == "changed" and whole.vector_mm is None
    assert whole.mass_mm == 4 * 60
    assert whole.old == (140, 144, 260, 258)


def test_two_pieces_across_the_middle_are_enough():
    assert len(join_turned(turned(14.0, 1.0, CORNERS[0], CORNERS[2]), K)) == 1


def test_neighbours_that_moved_each_for_itself_stay_apart():
    apart = [moved((80, 100), (12.0, 1.0)), moved((125, 100), (9.0, 12.0))]
    assert join_turned(apart, K) == apart


def test_one_vector_is_no_turn():
    together = [moved(at, (7.0, -3.0)) for at in CORNERS]
    assert join_turned(together, K) == together


def test_a_crumb_does_not_make_a_turn_of_a_figure_that_moved():
    figure, crumb = turned(15.0, 1.0, CORNERS[0], CORNERS[2])
    figure = moved(CORNERS[0], figure.vector_mm, mass=600.0)
    assert set(map(id, join_turned([figure, crumb], K))) == {id(figure), id(crumb)}


def test_what_did_not_move_is_left_as_it_is():
    gone = FoundRegion(label="removed", old=(0, 0, 40, 40), mass_mm=90)
    assert gone in join_turned([gone, *turned(15.0, 1.0, *CORNERS)], K)
