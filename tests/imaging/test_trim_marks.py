"""Trim marks on drawn sheets: found where they are, and nothing where they are not, or not enough of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from reviews.demo import openings
from reviews.demo.printed import crop_marks
from reviews.imaging.proof.trim_marks import find_marks
from reviews.press.proof_sheet import TrimFound
from tests.imaging.drawn_sheets import CORNERS, DrawnSheet, drawn, trim_of
from tests.imaging.test_seen_proof import art

# A third of the size that is really looked at: quick to draw, and lines are thinner there than they would be.
PLAIN = DrawnSheet(px_per_mm=1400 / 560, weight=0.3)
#: Hairlines as they are at the real size, on a smaller sheet.
HAIR = DrawnSheet(weight=0.09, trim=(200.0, 90.0), sheet=(240.0, 130.0), at=(20.0, 20.0), px_per_mm=4096 / 560)
SCANNED = replace(PLAIN, paper=232, noise=4.0, bars=True)


def off_mm(found: TrimFound, one: DrawnSheet) -> float:
    """Give by how much the worst side of a trim is off, in mm."""
    true, (wide, high) = trim_of(one), one.sheet
    across = max(abs(found.left - true.left), abs(found.right - true.right)) * wide
    return max(across, max(abs(found.top - true.top), abs(found.bottom - true.bottom)) * high)


@pytest.mark.parametrize(
    "one",
    [
        PLAIN,
        SCANNED,
        replace(PLAIN, at=(12.0, 44.0), gap=3.0),
        HAIR,
        replace(PLAIN, gap=0.0, bleed=0.0),
        replace(PLAIN, trim=(210.0, 280.0), sheet=(297.0, 420.0), at=(40.0, 60.0), px_per_mm=1400 / 420),
        replace(SCANNED, fold_marks=True, register_marks=True),
        replace(PLAIN, art_lines=True),
    ],
    ids=["plain", "scanned", "not in the middle", "hairlines", "no gap", "upright", "other marks", "lines in the art"],
)
def test_the_trim_is_found_to_a_pixel_and_a_half(one):
    [found] = find_marks(drawn(one))
    assert off_mm(found, one) < 1.5 / one.px_per_mm and found.n_corners == 4
    assert found.turn_deg == pytest.approx(0, abs=0.03)


@pytest.mark.parametrize("skew_deg", [2.0, -1.3, 0.4])
def test_a_sheet_that_was_scanned_askew_is_told_with_its_turn(skew_deg):
    one = replace(SCANNED, skew_deg=skew_deg, fold_marks=True)
    [found] = find_marks(drawn(one))
    assert off_mm(found, one) < 2 / one.px_per_mm
    assert found.turn_deg == pytest.approx(skew_deg, abs=0.05)


@pytest.mark.parametrize("missing", CORNERS)
def test_three_corners_are_enough(missing):
    one = replace(PLAIN, corners=tuple(corner for corner in CORNERS if corner != missing), skew_deg=0.7)
    [found] = find_marks(drawn(one))
    assert found.n_corners == 3 and off_mm(found, one) < 2 / one.px_per_mm


@pytest.mark.parametrize(
    "one",
    [
        replace(PLAIN, corners=CORNERS[:2]),
        replace(PLAIN, corners=CORNERS[::2]),
        replace(PLAIN, corners=(), bars=True, fold_marks=True, register_marks=True),
        replace(PLAIN, corners=(), art_lines=True, bars=True),
        replace(PLAIN, skew_deg=4.0),
    ],
    ids=["two side by side", "two across", "none but others", "lines in the art", "too far askew"],
)
def test_nothing_is_found_where_it_would_be_a_guess(one):
    assert find_marks(drawn(one)) == ()


@pytest.mark.parametrize("seed", range(4))
def test_art_that_goes_to_its_edges_has_no_trim_marks(seed):
    assert find_marks(art(seed)) == ()
    assert find_marks(np.full((400, 700, 3), 255, np.uint8)) == ()


def test_of_marks_for_trim_and_bleed_the_inner_ones_come_first():
    one = replace(PLAIN, bleed_marks=True, gap=6.0)
    found = find_marks(drawn(one))
    assert len(found) > 1 and off_mm(found[0], one) < 1.5 / one.px_per_mm
    assert any(off_mm(other, replace(one, trim=(506.0, 256.0), at=(27.0, 27.0))) < 1 for other in found[1:])


@pytest.mark.parametrize("seed", [100, 101, 108, 124])
def test_frames_and_fences_drawn_on_white_make_no_trim(seed):
    assert find_marks(drawn(replace(PLAIN, corners=(), art_lines=True), seed)) == ()


def test_the_trim_of_the_demos_own_proof_is_found():
    """Drawn by other code than the sheets above: 500 x 250 mm in the middle of 550 x 300 mm, with register marks."""
    sheet = np.full((300 * 4, 550 * 4, 3), 247, np.uint8)
    crop_marks(sheet, openings.at_the_tarn(1), 4.0)
    [found] = find_marks(sheet)
    assert (found.left, found.right) == pytest.approx((25 / 550, 525 / 550), abs=0.0005)
    assert (found.top, found.bottom) == pytest.approx((25 / 300, 275 / 300), abs=0.001)
