"""Plates of a special finish: lines and gaps of known widths, corners that are no lines, folds, tones."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from reviews.imaging.proof import plate
from reviews.press.covers import Trim, spread
from reviews.press.finish import FINISH_LIMITS, Finish, PlateFault, PlateFound, Shift, check_plate, plate_area_cm2

PPI = 1200
PX = PPI / 25.4
FOIL = FINISH_LIMITS[Finish.FOIL]
SIZE = (1700, 2400)


def bare() -> np.ndarray:
    return np.zeros(SIZE, np.uint8)


def line(width_mm: float, degrees: float, length_mm: float = 12) -> np.ndarray:
    """Draw one line of a width, at an angle, with slopes as a raster has them."""
    mask = np.zeros((SIZE[0] * 2, SIZE[1] * 2), np.uint8)
    box = ((SIZE[1], SIZE[0]), (length_mm * PX * 2, width_mm * PX * 2), degrees)
    cv2.fillPoly(mask, [np.round(cv2.boxPoints(box)).astype(np.int32)], 255)
    return cv2.resize(mask, (SIZE[1], SIZE[0]), interpolation=cv2.INTER_AREA)


def measured(picture: np.ndarray, limits=FOIL, folds_mm=()) -> PlateFound:
    return plate.measure(lambda a, b: picture[a:b], picture.shape[1], picture.shape[0], PX, limits, folds_mm)


@pytest.mark.parametrize("degrees", [0, 17, 45, 73, 90])
@pytest.mark.parametrize("width_mm", [0.05, 0.10, 0.13])
def test_a_line_thinner_than_foil_holds_is_found(width_mm, degrees):
    """A die maker's 0.2 mm; what is two thirds of it or less is always found."""
    assert measured(line(width_mm, degrees)).thin_places


@pytest.mark.parametrize("degrees", [0, 17, 45, 73, 90])
@pytest.mark.parametrize("width_mm", [0.22, 0.3, 1.0])
def test_a_line_that_holds_is_left_alone(width_mm, degrees):
    assert not measured(line(width_mm, degrees)).thin_places


@pytest.mark.parametrize("degrees", [0, 30, 45, 80])
@pytest.mark.parametrize(("gap_mm", "is_found"), [(0.2, True), (0.35, True), (0.55, False), (1.5, False)])
def test_a_gap_that_would_fill_is_found(gap_mm, is_found, degrees):
    solid = np.zeros(SIZE, np.uint8)
    cv2.circle(solid, (SIZE[1] // 2, SIZE[0] // 2), 700, 255, -1)
    solid = np.minimum(solid, 255 - line(gap_mm, degrees, length_mm=60))
    assert bool(measured(solid).gap_places) == is_found


def test_corners_stars_and_round_shapes_are_no_thin_lines():
    picture = bare()
    cv2.rectangle(picture, (200, 200), (700, 500), 255, -1)
    cv2.circle(picture, (1200, 500), 250, 255, -1)
    star = [
        (1800 + (330 if n % 2 else 150) * np.cos(n * np.pi / 5), 1100 + (330 if n % 2 else 150) * np.sin(n * np.pi / 5))
        for n in range(10)
    ]
    cv2.fillPoly(picture, [np.round(star).astype(np.int32)], 255)
    assert not measured(picture).thin_places


def test_a_dot_that_cannot_be_made_is_found_and_told_where():
    picture = bare()
    cv2.circle(picture, (600, 900), 3, 255, -1)
    ((left, top, right, bottom),) = measured(picture).thin_places
    assert left * SIZE[1] < 600 < right * SIZE[1] and top * SIZE[0] < 900 < bottom * SIZE[0]


def test_lines_across_a_strip_s_edge_are_found_once(monkeypatch):
    picture = line(0.1, 80, length_mm=30)
    monkeypatch.setattr(plate, "STRIP_ROWS", 300)
    assert len(measured(picture).thin_places) == 1


def test_finish_that_stops_beside_a_fold_is_found_and_what_crosses_it_is_not():
    fold_mm = SIZE[1] / 2 / PX
    across, beside = bare(), bare()
    cv2.rectangle(across, (200, 300), (2200, 700), 255, -1)
    cv2.rectangle(beside, (200, 300), (SIZE[1] // 2 - 20, 700), 255, -1)
    assert not measured(across, folds_mm=[fold_mm]).fold_places
    assert len(measured(beside, folds_mm=[fold_mm]).fold_places) == 1
    far = bare()
    cv2.rectangle(far, (200, 300), (SIZE[1] // 2 - 100, 700), 255, -1)
    assert not measured(far, folds_mm=[fold_mm]).fold_places


FLAT = spread(Trim(250, 250))
CLEAN = PlateFound(
    width_px=round(506 * PX), height_px=round(256 * PX), area=0.1, tones=0.001, thin_places=(), gap_places=(),
    fold_places=(),
)  # fmt: skip
ART = (5976, 3024)


def codes(found: PlateFound, art=ART) -> list[PlateFault]:
    return [fault.code for fault in check_plate(found, FLAT.with_bleed_mm, FOIL, art)]


def test_a_clean_plate_has_no_fault_and_its_area_is_told():
    assert codes(CLEAN) == []
    assert plate_area_cm2(CLEAN, FLAT.with_bleed_mm) == pytest.approx(129.5, abs=0.1)


@pytest.mark.parametrize(
    ("changed", "art", "code"),
    [
        ({"tones": 0.2}, ART, PlateFault.TONES),
        ({"area": 0.0}, ART, PlateFault.EMPTY),
        ({"width_px": 5976, "height_px": 3024}, ART, PlateFault.FEW_PIXELS),
        ({}, (5906, 2953), PlateFault.OTHER_SIZE),
        ({"thin_places": ((0, 0, 0.1, 0.1),)}, ART, PlateFault.THIN_LINE),
        ({"gap_places": ((0, 0, 0.1, 0.1),)}, ART, PlateFault.SMALL_GAP),
        ({"fold_places": ((0, 0, 0.1, 0.1),)}, ART, PlateFault.NEAR_FOLD),
        ({"shift": Shift(0.3, -0.2)}, ART, PlateFault.OFF_REGISTER),
    ],
)
def test_each_fault_of_a_plate_is_told(changed, art, code):
    assert codes(replace(CLEAN, **changed), art) == [code]


def test_a_gradient_is_tones_and_the_slopes_of_edges_are_not():
    ramp = np.tile(np.linspace(0, 255, SIZE[1]).astype(np.uint8), (SIZE[0], 1))
    assert measured(ramp).tones > 0.5
    assert measured(line(1.0, 17, length_mm=20)).tones < 0.01


@pytest.mark.parametrize("ppi", [600, 800, 1200, 2400])
@pytest.mark.parametrize("radius_mm", [1.0, 4.7, 9.3])
def test_the_round_edge_of_a_disc_is_no_line_at_any_resolution(ppi, radius_mm):
    px_per_mm = ppi / 25.4
    side = round(20 * px_per_mm)
    picture = np.zeros((side, side), np.uint8)
    cv2.circle(picture, (side // 2, side // 2), round(radius_mm * px_per_mm), 255, -1)
    for shown in (picture, 255 - picture):
        found = plate.measure(lambda a, b, of=shown: of[a:b], side, side, px_per_mm, FOIL, ())
        assert not found.thin_places and not found.gap_places


@pytest.mark.parametrize("ppi", [600, 1200])
def test_a_thin_line_beside_a_shape_is_still_found(ppi):
    px_per_mm = ppi / 25.4
    picture = np.zeros((round(10 * px_per_mm), round(20 * px_per_mm)), np.uint8)
    cv2.circle(picture, (round(5 * px_per_mm), round(5 * px_per_mm)), round(3 * px_per_mm), 255, -1)
    picture[round(5 * px_per_mm) : round(5.1 * px_per_mm), round(7.5 * px_per_mm) : round(15 * px_per_mm)] = 255
    found = plate.measure(lambda a, b: picture[a:b], picture.shape[1], picture.shape[0], px_per_mm, FOIL, ())
    assert len(found.thin_places) == 1
