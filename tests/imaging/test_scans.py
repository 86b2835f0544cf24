"""Sheets are joined to within a pixel of the truth or not at all; the under-drawing goes and the ink stays."""

from __future__ import annotations

import functools
from dataclasses import replace

import cv2
import numpy as np
import pytest

from reviews.geometry import Point
from reviews.imaging.sheets.joining import CouldNotJoin, JoinedScan, join_scans
from reviews.imaging.sheets.strips import row_strips
from reviews.imaging.sheets.under_drawing import take_out_under_drawing
from reviews.pages.wording.derived import recipe_words
from reviews.pages.wording.pictures import refusal_sentence
from reviews.rules.derived import Making
from tests.affine import inverse
from tests.imaging.scanned import PENCIL_LIGHT, Scanned, drawn_on_paper, ink_coverage, inked_over_pencil, paper, scan

pytestmark = pytest.mark.slow

WIDTH, HEIGHT = 1800, 1200
INK_SIZE = (1100, 800)


def worst_corner_px(joined: JoinedScan, sheets: list[Scanned]) -> float:
    """How far any corner of any sheet lies from where the truth puts it, seen from the first sheet."""
    worst = 0.0
    for to_canvas, sheet in zip(joined.maps, sheets, strict=True):
        rows, columns = sheet.picture.shape[:2]
        for corner in (Point(0, 0), Point(columns - 1, 0), Point(0, rows - 1), Point(columns - 1, rows - 1)):
            true = joined.maps[0].apply(inverse(sheets[0].to_drawing).apply(sheet.to_drawing.apply(corner)))
            found = to_canvas.apply(corner)
            worst = max(worst, float(np.hypot(found.x - true.x, found.y - true.y)))
    return worst


def joined(sheets: list[Scanned]) -> JoinedScan:
    found = join_scans([sheet.picture for sheet in sheets])
    assert isinstance(found, JoinedScan), found
    return found


@pytest.mark.parametrize(
    ("seed", "overlap", "turn", "scale"), [(100, 0.25, 1.5, 1.0), (101, 0.15, -2.0, 1.01), (102, 0.10, 0.4, 0.99)]
)
def test_two_sheets_are_joined_within_a_pixel(seed: int, overlap: float, turn: float, scale: float) -> None:
    drawing = drawn_on_paper(WIDTH, HEIGHT, seed)
    part = int(WIDTH / 2 * (1 + overlap))
    sheets = [
        scan(drawing, 0, 0, part, HEIGHT, seed + 1),
        scan(drawing, WIDTH - part, 8, part, HEIGHT, seed + 2, turn=turn, scale=scale),
    ]
    found = joined(sheets)
    assert worst_corner_px(found, sheets) < 1.0
    assert found.agreement > 0.9
    assert found.recipe["method"] == found.method


def test_the_order_of_the_sheets_does_not_matter() -> None:
    drawing = drawn_on_paper(WIDTH, HEIGHT, 103)
    sheets = [scan(drawing, 800, 0, 1000, HEIGHT, 1), scan(drawing, 0, 5, 1000, HEIGHT, 2, turn=0.8)]
    assert worst_corner_px(joined(sheets), sheets) < 1.0


def test_four_sheets_in_a_square_are_joined_together() -> None:
    drawing = drawn_on_paper(WIDTH, HEIGHT, 104)
    places = [(0, 0), (780, 10), (8, 500), (790, 495)]
    sheets = [scan(drawing, *place, 1000, 690, 20 + n, turn=0.5 * n - 1) for n, place in enumerate(places)]
    assert worst_corner_px(joined(sheets), sheets) < 1.0


def test_the_seam_is_hidden() -> None:
    """Where two sheets meet, the joined picture is as near to the drawing as each sheet alone is."""
    drawing = drawn_on_paper(WIDTH, HEIGHT, 105)
    sheets = [scan(drawing, 0, 0, 1000, HEIGHT, 31), scan(drawing, 800, 0, 1000, HEIGHT, 32, turn=0.7)]
    found = joined(sheets)
    # The first sheet is not turned: the joined picture is the drawing, shifted by whole pixels.
    shift = found.maps[0].apply(Point(0, 0))
    assert (shift.x % 1, shift.y % 1) == (0, 0)
    left, top = int(shift.x), int(shift.y)
    inner = np.s_[top + 40 : top + HEIGHT - 40]
    seen = found.picture[inner, left + 20 : left + WIDTH - 40].astype(float)
    true = drawing[40 : HEIGHT - 40, 20 : WIDTH - 40] * 255
    off = np.abs(seen - true).mean(axis=(0, 2))
    alone, overlap = np.concatenate([off[:700], off[1100:]]), off[760:1000]
    assert overlap.max() < 1.5 * alone.max() + 2


def test_sheets_of_two_drawings_are_not_joined() -> None:
    for seed in (200, 201, 202):
        sheets = [drawn_on_paper(1000, 1000, seed), drawn_on_paper(1000, 1000, seed + 50)]
        found = join_scans([scan(each, 0, 0, 1000, 1000, n).picture for n, each in enumerate(sheets)])
        assert isinstance(found, CouldNotJoin)
        assert found.code == "no-overlap"
        assert found.values == {"sheets": [2]}


def test_sheets_that_do_not_overlap_and_blank_ones_and_a_single_one_are_not_joined() -> None:
    drawing = drawn_on_paper(WIDTH, HEIGHT, 106)
    apart = [scan(drawing, 0, 0, 800, HEIGHT, 1).picture, scan(drawing, 900, 0, 800, HEIGHT, 2).picture]
    blank = np.full((600, 600, 3), 240, np.uint8)
    for sheets in (apart, [blank, blank], apart[:1]):
        assert isinstance(join_scans(sheets), CouldNotJoin)


def test_a_third_sheet_that_belongs_elsewhere_is_named() -> None:
    drawing = drawn_on_paper(WIDTH, HEIGHT, 107)
    sheets = [scan(drawing, 0, 0, 1000, HEIGHT, 1).picture, scan(drawing, 800, 0, 1000, HEIGHT, 2).picture]
    stranger = scan(drawn_on_paper(1000, HEIGHT, 999), 0, 0, 1000, HEIGHT, 3).picture
    found = join_scans([*sheets, stranger])
    assert isinstance(found, CouldNotJoin)
    assert found.values == {"sheets": [3]}


@pytest.mark.parametrize("turn", [180.0, 90.6])
def test_a_sheet_that_was_turned_round_on_the_glass_is_joined(turn: float) -> None:
    drawing = drawn_on_paper(1400, 900, 109)
    sheets = [scan(drawing, 0, 0, 850, 900, 1), scan(drawing, 520, 0, 880, 900, 2, turn=turn)]
    found = joined(sheets)
    assert worst_corner_px(found, sheets) < 1.0
    assert abs(found.recipe["sheets"][1]["turn_degrees"]) == pytest.approx(turn, abs=0.1)


def test_sheets_scanned_at_different_resolutions_are_told_apart() -> None:
    drawing = drawn_on_paper(1200, 700, 110)
    left, right = scan(drawing, 0, 0, 700, 700, 1).picture, scan(drawing, 500, 0, 700, 700, 2).picture
    twice = np.asarray(cv2.resize(right, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC), np.uint8)
    found = join_scans([left, twice])
    assert isinstance(found, CouldNotJoin)
    assert found.code == "different-sizes"
    assert "The drawing is 2.0 times as large on sheet 2 as on sheet 1." in refusal_sentence(found.code, found.values)


def test_the_recipe_tells_turn_size_and_overlap() -> None:
    drawing = drawn_on_paper(1200, 700, 111)
    sheets = [scan(drawing, 0, 0, 700, 700, 1), scan(drawing, 500, 0, 700, 700, 2, turn=-1.2, scale=1.01)]
    first, second = joined(sheets).recipe["sheets"]
    assert (first["turn_degrees"], first["scale"], first["overlap"]) == (0, 1, 0)
    assert second["turn_degrees"] == pytest.approx(-1.2, abs=0.05)
    assert second["scale"] == pytest.approx(1.01, abs=0.001)
    assert second["overlap"] == pytest.approx(200 / 700, abs=0.02)


def test_joining_gives_the_same_picture_each_time() -> None:
    drawing = drawn_on_paper(1400, 900, 108)
    sheets = [scan(drawing, 0, 0, 800, 900, 1).picture, scan(drawing, 600, 0, 800, 900, 2, turn=1).picture]
    one, two = (join_scans(sheets) for _ in range(2))
    assert isinstance(one, JoinedScan) and isinstance(two, JoinedScan)
    assert np.array_equal(one.picture, two.picture)
    assert one.recipe == two.recipe


# --- the under-drawing ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("pencil", PENCIL_LIGHT)
@pytest.mark.parametrize("share_filled", [0.0, 0.12])
def test_ink_is_left_and_pencil_taken_out(pencil: str, share_filled: float) -> None:
    for seed in (300, 301):
        picture, ink = inked_over_pencil(*INK_SIZE, seed, pencil, share_filled)
        found = take_out_under_drawing(picture)
        assert found.pencil == pencil
        right = (found.ink & ink).sum()
        assert right / found.ink.sum() >= 0.97
        assert right / ink.sum() >= 0.97
        assert found.picture[~found.ink].mean() > 250
        assert found.picture[found.ink].mean() < 90


def test_a_scan_without_pencil_keeps_its_ink() -> None:
    dice = np.random.default_rng(5)
    drawing = drawn_on_paper(900, 700, 302)
    picture = scan(drawing, 0, 0, 900, 700, int(dice.integers(100))).picture
    found = take_out_under_drawing(picture)
    assert found.pencil == ""
    dark = drawing.mean(axis=2) < 0.5
    assert (found.ink & dark).sum() / dark.sum() > 0.97
    assert (found.ink & dark).sum() / found.ink.sum() > 0.97


def test_blank_paper_has_no_ink() -> None:
    found = take_out_under_drawing(np.full((200, 300, 3), 236, np.uint8))
    assert not found.ink.any()
    assert (found.picture == 255).all()


def test_strips_leave_no_trace_in_what_is_taken_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same scan worked on in one piece and in strips gives the same picture."""
    picture, _ = inked_over_pencil(500, 700, 303, "red")
    in_strips = take_out_under_drawing(picture)
    whole = functools.partial(row_strips, step=10_000)
    monkeypatch.setattr("reviews.imaging.sheets.under_drawing.row_strips", whole)
    in_one = take_out_under_drawing(picture)
    assert np.abs(in_strips.picture.astype(int) - in_one.picture).max() <= 1
    assert (in_strips.ink != in_one.ink).mean() < 1e-5


def test_an_unknown_pencil_is_refused() -> None:
    with pytest.raises(ValueError, match="orange, red, blue"):
        take_out_under_drawing(np.full((20, 20, 3), 236, np.uint8), "green")


def bare_truth(found: JoinedScan, sheets: list[Scanned]) -> float:
    """Which share of the canvas no sheet lies on, by filling the sheets' outlines where the found maps put them."""
    rows, columns = found.picture.shape[:2]
    covered = np.zeros((rows, columns), np.uint8)
    for to_canvas, sheet in zip(found.maps, sheets, strict=True):
        height, width = sheet.picture.shape[:2]
        corners = [(0, 0), (width - 1, 0), (width - 1, height - 1), (0, height - 1)]
        outline = [(place.x, place.y) for place in (to_canvas.apply(Point(*corner)) for corner in corners)]
        cv2.fillPoly(covered, [np.array(outline).round().astype(np.int32)], 1)
    return 1 - float(covered.mean())


@pytest.mark.parametrize("turn", [2.5, -2.5])
def test_corner_wedges_beside_a_crooked_sheet_are_measured_and_named(turn: float) -> None:
    drawing = drawn_on_paper(WIDTH, HEIGHT, 120)
    sheets = [scan(drawing, 0, 0, 1100, HEIGHT, 1), scan(drawing, 700, 0, 1100, HEIGHT, 2, turn=turn)]
    found = joined(sheets)
    truth = bare_truth(found, sheets)
    assert truth > 0.01, "else this tests nothing"
    assert found.recipe["bare_share"] == pytest.approx(truth, abs=0.002)
    words = "\n".join(recipe_words(Making.JOIN, ["left.png", "right.png"], found.recipe))
    assert "No sheet covers" in words and "these wedges at its edges are white. Crop them." in words


def test_sheets_that_lie_straight_have_no_wedges_named() -> None:
    drawing = drawn_on_paper(WIDTH, HEIGHT, 121)
    found = joined([scan(drawing, 0, 0, 1100, HEIGHT, 1), scan(drawing, 700, 0, 1100, HEIGHT, 2)])
    assert found.recipe["bare_share"] < 0.002
    words = "\n".join(recipe_words(Making.JOIN, ["left.png", "right.png"], found.recipe | {"bare_share": 0.0}))
    assert "No sheet covers" not in words


def faint_blue_under_ink(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Light blue laid so thinly that the paper's red falls from about 240 to 215 under it, with ink over it."""
    dice = np.random.default_rng(seed)
    width, height = INK_SIZE
    pencil = cv2.GaussianBlur(ink_coverage(width, height, dice, 45, 0.0), (0, 0), 1.0)[..., None]
    sheet = paper(width, height, dice) * (1 - pencil * np.array([0.11, 0.04, 0.01]))
    ink = ink_coverage(width, height, dice, 35, 0.0)
    sheet = sheet * (1 - ink[..., None] * 0.93)
    return scan(sheet.astype(np.float32), 0, 0, width, height, seed + 1).picture, ink > 0.5


def test_faint_light_blue_is_taken_out_where_it_is_named() -> None:
    for seed in (310, 311):
        picture, ink = faint_blue_under_ink(seed)
        assert take_out_under_drawing(picture).pencil == ""
        found = take_out_under_drawing(picture, "blue")
        assert found.pencil == "blue"
        right = (found.ink & ink).sum()
        assert right / found.ink.sum() >= 0.97 and right / ink.sum() >= 0.97
        assert found.picture[~found.ink].mean() > 250


def test_naming_a_pencil_finds_none_where_there_is_none() -> None:
    dice = np.random.default_rng(7)
    width, height = INK_SIZE
    ink = ink_coverage(width, height, dice, 35, 0.0)
    sheet = paper(width, height, dice) * (1 - ink[..., None] * 0.93)
    bare = scan(sheet.astype(np.float32), 0, 0, width, height, 8).picture
    for pencil in PENCIL_LIGHT:
        assert take_out_under_drawing(bare, pencil).pencil == ""


def test_a_sheet_much_darker_and_yellower_than_its_neighbour_leaves_no_step() -> None:
    drawing = drawn_on_paper(WIDTH, HEIGHT, 107)
    light, dark = scan(drawing, 0, 0, 1000, HEIGHT, 33), scan(drawing, 800, 0, 1000, HEIGHT, 34)
    dimmed = np.clip(dark.picture * np.array([0.72, 0.68, 0.58]), 0, 255).round().astype(np.uint8)
    found = joined([light, replace(dark, picture=dimmed)])
    inner = found.picture[60 : HEIGHT - 60].astype(float)
    left, right = (
        np.percentile(inner[:, part].reshape(-1, 3), 80, axis=0) for part in (np.s_[100:500], np.s_[1300:1700])
    )
    assert np.abs(left - right).max() < 8
