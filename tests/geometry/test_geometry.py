"""Fractions, pixels and millimetres; regions as they are stored; maps of a page."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviews.geometry import (
    IDENTITY,
    Affine,
    Box,
    PageFrame,
    Point,
    Region,
    bounding_box,
    clamp,
    fraction_map,
    from_pixels,
    map_region,
    overlap,
    page_map,
    region_from_json,
    region_to_json,
    to_pixels,
)
from tests.affine import similarity

fraction = st.floats(0, 1)
number = st.floats(-50, 50)


def near(one: Point, two: Point, by: float = 1e-6) -> bool:
    return math.hypot(one.x - two.x, one.y - two.y) < by


# --- regions -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "raw",
    [
        {"kind": "point", "points": [[0, 1]]},
        {"kind": "box", "points": [[0.1, 0.2], [0.30001, 0.4]]},
        {"kind": "outline", "points": [[0.1, 0.1], [0.9, 0.1], [0.5, 0.77777]]},
    ],
)
def test_a_region_comes_back_as_it_was_stored(raw: dict) -> None:
    assert region_to_json(region_from_json(raw)) == raw


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (None, "a point, a box or an outline"),
        ({"kind": "circle", "points": [[0, 0]]}, "a point, a box or an outline"),
        ({"kind": "point", "points": []}, "1 point"),
        ({"kind": "point", "points": "ab"}, "1 point"),
        ({"kind": "box", "points": [[0, 0]]}, "2 points"),
        ({"kind": "box", "points": [[0.5, 0.5], [0.2, 0.9]]}, "top left"),
        ({"kind": "box", "points": [[0.5, 0.5], [0.5, 0.9]]}, "top left"),
        ({"kind": "outline", "points": [[0, 0], [1, 1]]}, "3 to 400"),
        ({"kind": "outline", "points": [[0, 0]] * 401}, "3 to 400"),
        ({"kind": "point", "points": [[0, 1.2]]}, "between 0 and 1"),
        ({"kind": "point", "points": [[math.nan, 0]]}, "between 0 and 1"),
        ({"kind": "point", "points": [[True, 0]]}, "between 0 and 1"),
        ({"kind": "point", "points": [["0", 0]]}, "between 0 and 1"),
        ({"kind": "point", "points": [[0, 0, 0]]}, "two numbers"),
    ],
)
def test_what_is_no_region_is_refused_in_a_sentence(raw: object, said: str) -> None:
    with pytest.raises(ValueError, match=said) as refused:
        region_from_json(raw)
    assert str(refused.value).endswith(".")


@given(st.lists(st.tuples(fraction, fraction), min_size=3, max_size=400))
def test_any_outline_on_the_picture_is_stored_within_five_decimals(points: list[tuple[float, float]]) -> None:
    region = region_from_json({"kind": "outline", "points": [list(pair) for pair in points]})
    for kept, (x, y) in zip(region.points, points, strict=True):
        assert abs(kept.x - x) <= 0.5e-5 + 1e-12 and abs(kept.y - y) <= 0.5e-5 + 1e-12


# --- boxes ---------------------------------------------------------------------------------------------------


def test_overlap_of_boxes() -> None:
    one, two = Box(0.0, 0.0, 0.4, 0.4), Box(0.2, 0.2, 0.6, 0.6)
    assert overlap(one, two) == Box(0.2, 0.2, 0.4, 0.4)
    assert overlap(one, Box(0.5, 0.0, 0.6, 0.4)) is None
    assert overlap(one, Box(0.4, 0.0, 0.6, 0.4)) is None


def test_a_bounding_box_holds_its_points_and_is_refused_for_none() -> None:
    assert bounding_box([Point(0.3, 0.9), Point(0.1, 0.5)]) == Box(0.1, 0.5, 0.3, 0.9)
    with pytest.raises(ValueError, match="no points"):
        bounding_box([])


def test_boxes_and_points_are_kept_on_the_picture() -> None:
    assert Box(0.9, -0.2, 1.3, 0.5).clamped() == Box(0.9, 0.0, 1.0, 0.5)
    assert Box(0.02, 0.5, 0.5, 0.98).grown(0.05, 0.05).x0 == 0.0
    assert clamp(Point(-1, 2)) == Point(0, 1)


# --- maps ----------------------------------------------------------------------------------------------------


def test_composing_does_the_first_map_first() -> None:
    turn, shift = similarity(1, 90, 0, 0), similarity(1, 0, 2, 0)
    assert near(shift.after(turn).apply(Point(1, 0)), Point(2, 1))
    assert near(turn.after(shift).apply(Point(1, 0)), Point(0, 3))


def test_a_map_of_pixels_becomes_a_map_of_fractions() -> None:
    # The second picture is twice as large and its subject sits 60 px further right and 20 px further down.
    carry = fraction_map(Affine(2, 0, 60, 0, 2, 20), (1000, 500), (2000, 1000))
    assert near(carry.apply(Point(0.5, 0.5)), Point((2 * 500 + 60) / 2000, (2 * 250 + 20) / 1000))


def test_a_carried_box_stays_upright_and_a_carried_outline_keeps_its_points() -> None:
    turn = similarity(1, 90, 1.0, 0.0)
    box = map_region(Region("box", (Point(0.1, 0.2), Point(0.3, 0.6))), turn)
    assert box.kind == "box"
    assert near(box.points[0], Point(0.4, 0.1)) and near(box.points[1], Point(0.8, 0.3))
    outline = map_region(Region("outline", (Point(0, 0), Point(1, 0), Point(1, 2))), IDENTITY)
    assert outline.points == (Point(0, 0), Point(1, 0), Point(1, 1))


@given(fraction, fraction, st.integers(1, 20_000), st.integers(1, 20_000))
def test_pixels_and_fractions_undo_each_other(x: float, y: float, width: int, height: int) -> None:
    assert near(from_pixels(*to_pixels(Point(x, y), width, height), width, height), Point(x, y))


# --- pages ---------------------------------------------------------------------------------------------------


def opening(width_px: int, height_px: int) -> PageFrame:
    return PageFrame(
        width_px=width_px, height_px=height_px, trim_width_mm=250, trim_height_mm=250, bleed_mm=3, n_pages_across=2
    )


def test_an_opening_drawn_with_bleed_is_known_by_its_proportions() -> None:
    frame = opening(5976, 3024)  # 506 x 256 mm at 300 ppi
    assert frame.includes_bleed
    assert (frame.width_mm, frame.height_mm) == (506, 256)
    assert frame.ppi == pytest.approx(300, abs=0.1)
    trim = frame.trim_box
    assert (trim.x0 * 506, trim.y0 * 256, trim.x1 * 506, trim.y1 * 256) == pytest.approx((3, 3, 503, 253))
    assert frame.gutter_x == 0.5


def test_an_opening_drawn_to_the_trim_has_no_bleed_to_cut() -> None:
    frame = opening(6000, 3000)
    assert not frame.includes_bleed
    assert frame.trim_box == Box(0, 0, 1, 1)
    assert frame.width_mm == 500


def test_a_single_page_has_no_gutter_and_a_cover_in_one_piece_has_a_spine() -> None:
    assert PageFrame(width_px=3000, height_px=3000, trim_width_mm=250, trim_height_mm=250, bleed_mm=3).gutter_x is None
    cover = PageFrame(
        width_px=6100, height_px=3024, trim_width_mm=250, trim_height_mm=250, bleed_mm=3, n_pages_across=3, spine_mm=10
    )
    assert cover.width_mm == pytest.approx(516)
    assert cover.gutter_x is None


def test_two_pictures_of_a_page_are_laid_by_its_edges_whatever_is_drawn():
    with_bleed, trimmed = (
        PageFrame(width_px=506, height_px=256, trim_width_mm=250, trim_height_mm=250, bleed_mm=3, n_pages_across=2),
        PageFrame(width_px=1000, height_px=500, trim_width_mm=250, trim_height_mm=250, bleed_mm=3, n_pages_across=2),
    )
    assert (with_bleed.includes_bleed, trimmed.includes_bleed) == (True, False)
    carry = page_map(with_bleed, trimmed)
    assert near(carry.apply(Point(0.5, 0.5)), Point(0.5, 0.5))
    trim = with_bleed.trim_box
    assert near(carry.apply(Point(trim.x0, trim.y0)), Point(0, 0))
    assert near(carry.apply(Point(trim.x1, trim.y1)), Point(1, 1))
    assert page_map(trimmed, trimmed) == IDENTITY


def test_pictures_of_other_pages_have_no_edges_in_common():
    assert (
        page_map(
            PageFrame(width_px=506, height_px=256, trim_width_mm=250, trim_height_mm=250, bleed_mm=3, n_pages_across=2),
            PageFrame(width_px=256, height_px=256, trim_width_mm=250, trim_height_mm=250, bleed_mm=3, n_pages_across=1),
        )
        is None
    )
