"""A new version turned, mirrored, squeezed, negative, photographed at an angle, or only a part: recognised and told."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np
import pytest

from reviews.geometry import Point, Region
from reviews.imaging.arrays import Matrix, Pixels
from reviews.imaging.changes import laying
from reviews.imaging.changes.comparing import compare
from reviews.imaging.changes.findings import ComparisonResult
from reviews.imaging.changes.laying import lay
from reviews.imaging.changes.overlaying import overlay
from reviews.imaging.changes.photographs import sheet_corners
from reviews.imaging.changes.registration import align
from reviews.imaging.changes.undoing import resized, turned_and_mirrored
from reviews.pages.changes_file import remark_words
from tests.drawing_pairs import Pair
from tests.drawing_truth import counted, hits
from tests.imaging.compared import boxes_mm, compared, pair_of

pytestmark = pytest.mark.slow
EDITED = {"n_edits": 2, "edit_kind": "move", "move_mm": 18.0, "is_still": True}


def edited() -> Pair:
    return pair_of("line>ink", 105, **EDITED)


@cache
def plain() -> ComparisonResult:
    return compare(edited().a, edited().b, edited().width_mm)


def told(found: ComparisonResult) -> list[str]:
    return [remark.code for remark in found.remarks]


def words(found: ComparisonResult) -> str:
    return " ".join(remark_words(remark) for remark in found.remarks)


def assert_edits_found(found: ComparisonResult, pair: Pair) -> None:
    """One of the two figures that moved lies under another; resampling may leave it among the less sure."""
    shown, less_sure = ([boxes_mm(pair, change) for change in part] for part in (found.changes, found.unsure))
    edits = counted(pair)
    assert len(edits) == 2 and any(hits(*b, e) for b in shown for e in edits)
    assert all(any(hits(*b, e) for b in (*shown, *less_sure)) for e in edits)


def turned(picture: Pixels, quarters_right: int, *, is_mirrored: bool = False) -> Pixels:
    mirrored = picture[:, ::-1] if is_mirrored else picture
    return np.ascontiguousarray(np.rot90(mirrored, -quarters_right))


@pytest.mark.parametrize(
    ("quarters", "is_mirrored", "codes", "said"),
    [
        (2, False, ["turned"], "turned by 180° to the right and was compared after turning it back"),
        (1, False, ["turned"], "turned by 90° to the right"),
        (3, False, ["turned"], "turned by 270° to the right"),
        (0, True, ["mirrored"], "mirrored, left for right. It was compared after mirroring it back"),
        (1, True, ["mirrored", "turned"], "turned by 90° to the right"),
    ],
)
def test_what_was_turned_or_mirrored_is_put_right_compared_and_said(quarters, is_mirrored, codes, said):
    pair = edited()
    b = turned(pair.b, quarters, is_mirrored=is_mirrored)
    found = compare(pair.a, b, pair.width_mm)
    assert found.alignment.state == "aligned"
    assert told(found)[: len(codes)] == codes and said in words(found)
    assert_edits_found(found, pair)
    # The map goes to the picture as it was handed in: the corner of A lies where turning puts it.
    corner = found.alignment.a_to_b().apply(Point(0, 0))
    straight = plain().alignment.a_to_b().apply(Point(0, 0))
    x, y = (1 - straight.x if is_mirrored else straight.x), straight.y
    for _ in range(quarters):
        x, y = 1 - y, x
    assert abs(corner.x - x) < 0.004 and abs(corner.y - y) < 0.004


@pytest.mark.parametrize(
    ("across", "down", "code", "percent"), [(0.92, 1.0, "squeezed-across", 8.0), (1.0, 0.95, "squeezed-down", 5.0)]
)
def test_what_was_squeezed_is_stretched_back_compared_and_said(across, down, code, percent):
    pair = edited()
    squeezed = cv2.resize(pair.b, None, fx=across, fy=down, interpolation=cv2.INTER_AREA)
    found = compare(pair.a, squeezed, pair.width_mm)
    assert found.alignment.state == "aligned" and told(found)[0] == code
    assert found.remarks[0].values["percent"] == pytest.approx(percent, abs=0.3)
    assert_edits_found(found, pair)
    assert found.alignment.b_size_px == (squeezed.shape[1], squeezed.shape[0])


def test_a_crop_is_no_squeeze_though_its_outline_is_another_and_costs_no_second_laying(monkeypatch):
    pair, calls = edited(), []
    monkeypatch.setattr(laying, "align", lambda *pictures, **how: calls.append(how) or align(*pictures, **how))
    height, width = pair.b.shape[:2]
    laid = lay(pair.a, np.ascontiguousarray(pair.b[:, : round(0.93 * width)]))
    assert laid.alignment.state == "aligned" and not laid.oddities and len(calls) == 1
    squeezed = cv2.resize(pair.b, (round(0.97 * width), height), interpolation=cv2.INTER_AREA)
    assert [remark.code for remark in lay(pair.a, squeezed).oddities] == ["squeezed-across"] and len(calls) == 3


def test_a_negative_is_told_and_compared():
    pair = edited()
    found = compare(pair.a, np.asarray(255 - pair.b, np.uint8), pair.width_mm)
    assert told(found)[0] == "negative" and "light is dark" in words(found)
    assert_edits_found(found, pair)


def test_ordinary_versions_are_called_nothing_of_the_kind():
    odd = {"turned", "mirrored", "squeezed-across", "squeezed-down", "negative", "at-an-angle", "pattern-repeats"}
    for kind, seed in (("line>ink", 105), ("sketch>full", 104), ("full>full", 108)):
        _, _, found = compared(kind, seed)
        assert not odd & set(told(found))


def photographed(picture: Pixels, off: float, ground: float) -> tuple[Pixels, Matrix]:
    """Photograph a picture at an angle: corners off by a share of its width, and so much of a dark table around it."""
    height, width = picture.shape[:2]
    far, rim = off * width, ground * width
    straight = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    seen = np.array([[far, 0.3 * far], [width - far, 0], [width, height], [0, height - 0.2 * far]], np.float32) + rim
    view = cv2.getPerspectiveTransform(straight, seen.astype(np.float32))
    size = (round(width + 2 * rim), round(height + 2 * rim))
    around = (95, 80, 70) if ground else (190,) * 3
    return cv2.warpPerspective(picture, view, size, borderValue=around), np.asarray(view, np.float64)


@pytest.mark.parametrize(("off", "ground"), [(0.05, 0.0), (0.1, 0.06)])
def test_a_photograph_taken_at_an_angle_is_straightened_compared_and_never_called_sure(off, ground):
    pair = edited()
    photo, view = photographed(pair.b, off, ground)
    corner = Region("point", (Point(0.12, 0.2),))
    found = compare(pair.a, photo, pair.width_mm, [corner])
    assert found.alignment.state == "check" and "nothing-found" not in told(found)
    assert "at-an-angle" in told(found) and "after straightening it" in words(found)
    assert_edits_found(found, pair)
    # A note near a corner lies where the photograph shows its place, though no plain map of the page goes there.
    height, width = pair.a.shape[:2]
    at = view @ pair.a_to_b @ (0.12 * width, 0.2 * height, 1.0)
    (note,) = found.notes
    here = note.by_page.points[0]
    assert here.x * photo.shape[1] == pytest.approx(at[0] / at[2], abs=0.004 * width)
    assert here.y * photo.shape[0] == pytest.approx(at[1] / at[2], abs=0.004 * width)


def test_an_angle_that_cannot_be_put_straight_surely_is_still_told(monkeypatch):
    monkeypatch.setattr(laying, "straightened_by_blocks", lambda *asked: None)
    pair = edited()
    found = compare(pair.a, photographed(pair.b, 0.03, 0.0)[0], pair.width_mm)
    assert found.alignment.state != "aligned" and "nothing-found" not in told(found)
    assert "at-an-angle" in told(found) and "Scan it" in words(found)


def test_a_sheet_is_found_on_its_ground_and_none_where_there_is_none():
    sheet = np.full((500, 900, 3), 245, np.uint8)
    cv2.circle(sheet, (200, 250), 90, (60, 60, 60), 6)
    photo, view = photographed(sheet, 0.08, 0.07)
    corners = sheet_corners(photo)
    assert corners is not None
    wanted = np.array([[0, 0, 1], [900, 0, 1], [900, 500, 1], [0, 500, 1]]) @ view.T
    assert np.abs(corners - wanted[:, :2] / wanted[:, 2:]).max() < 6
    assert sheet_corners(sheet) is None
    assert sheet_corners(np.asarray(255 - photo, np.uint8)) is None
    assert sheet_corners(np.full((300, 400, 3), 200, np.uint8)) is None


@pytest.mark.parametrize("side", ["left", "right"])
def test_one_page_of_a_spread_is_laid_on_its_half_and_the_other_half_is_told(side):
    pair = edited()
    width = pair.b.shape[1]
    page = pair.b[:, : width // 2] if side == "left" else pair.b[:, width // 2 :]
    found = compare(pair.a, page.copy(), pair.width_mm)
    assert found.alignment.is_usable and "no-longer-shown" in told(found)
    lost = next(remark for remark in found.remarks if remark.code == "no-longer-shown")
    other = "right" if side == "left" else "left"
    assert lost.values[other] == pytest.approx(50, abs=2) and lost.values[side] == 0
    assert "% of the earlier one" in words(found) and f"% at the {other}" in words(found)


def test_the_overlay_hatches_what_the_new_picture_lost():
    pair = edited()
    found = compare(pair.a, pair.b[:, : pair.b.shape[1] // 2].copy(), pair.width_mm)
    drawn = overlay(pair.a, pair.b[:, : pair.b.shape[1] // 2].copy(), found)
    width = drawn.shape[1]
    lost, shared = drawn[:, width * 3 // 4], drawn[:, width // 4]
    assert _hatched(lost) > 0.05 and _hatched(shared) < 0.01


def _hatched(column: Pixels) -> float:
    """Return the share of pixels in the hatching's own blue."""
    return float((np.abs(column.astype(int) - (120, 168, 214)).max(1) < 12).mean())


def test_a_shifted_pattern_is_told_with_its_repeat():
    tile = np.full((60, 75, 3), 250, np.uint8)
    cv2.circle(tile, (36, 28), 15, (40, 40, 60), 2, cv2.LINE_AA)
    cv2.line(tile, (10, 50), (60, 8), (90, 40, 40), 2, cv2.LINE_AA)
    paper = np.tile(tile, (12, 17, 1))
    one, other = paper[:600, :1200].copy(), paper[:600, 37:1237].copy()
    found = compare(one, other, 480.0)
    assert "nothing-found" not in told(found)
    if found.alignment.is_usable:
        repeat = next(remark for remark in found.remarks if remark.code == "pattern-repeats")
        assert 15 <= repeat.values["mm"] <= 61  # 30 mm across, 24 down, or a few of both
        assert "a whole repeat off" in words(found)


def test_strangers_are_laid_in_no_way():
    pictures = [pair_of("line>ink", seed, is_still=True, n_edits=0) for seed in (161, 162, 163)]
    for one, other in ((0, 1), (1, 2), (2, 0)):
        assert not lay(pictures[one].a, pictures[other].b).alignment.is_usable


def test_undoing_gives_the_pixels_back_to_where_they_were():
    rng = np.random.default_rng(3)
    given = rng.integers(0, 255, (23, 31, 3), dtype=np.uint8)
    for quarters in range(4):
        for is_mirrored in (False, True):
            undone = turned_and_mirrored(given, quarters, is_mirrored=is_mirrored)
            height, width = undone.rgb.shape[:2]
            for x, y in ((0, 0), (width - 1, 0), (5, 7), (width - 1, height - 1)):
                column, row, _ = undone.to_given @ (x, y, 1)
                assert (undone.rgb[y, x] == given[round(row), round(column)]).all()
    half = resized(given, 62, 23)
    assert half.rgb.shape == (23, 62, 3)
    assert (half.to_given @ (-0.5, -0.5, 1))[:2] == pytest.approx([-0.5, -0.5])
    assert (half.to_given @ (61.5, 22.5, 1))[:2] == pytest.approx([30.5, 22.5])
