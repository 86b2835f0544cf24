"""The map between two versions, held against scenes whose map is known."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from reviews.geometry import Point
from reviews.imaging.changes.fields import TooNarrow, prepare
from reviews.imaging.changes.findings import Alignment
from reviews.imaging.changes.registration import _runner_up, align
from tests.bench.changes_measure import baseline_errors
from tests.drawing_pairs import turned_round
from tests.drawing_truth import corner_error
from tests.imaging.compared import HELD_OUT, ONE_MEDIUM, compared, compared_across, compared_with_itself, pair_of

pytestmark = pytest.mark.slow


def aligned(kind: str, seed: int, **how: object) -> Alignment:
    pair = pair_of(kind, seed, **how)
    return align(prepare(pair.a), prepare(pair.b))


SMALL_EDITS = [(kind, seed, {"n_edits": 4, "edit_kind": edit}) for kind, seed, edit in ONE_MEDIUM]


@pytest.mark.parametrize(("kind", "seed", "how"), [*((*one, {}) for one in HELD_OUT), *SMALL_EDITS])
def test_corners_land_within_0_3_percent_of_the_width(kind, seed, how):
    pair, _, found = compared(kind, seed, **how)
    assert found.alignment.state in ("aligned", "check")
    assert corner_error(pair, found.alignment.readings[0].a_to_b_px) < 0.003


def test_median_corner_error_is_under_0_07_percent():
    errors = []
    for kind, seed in HELD_OUT:
        pair, _, found = compared(kind, seed)
        errors.append(corner_error(pair, found.alignment.readings[0].a_to_b_px))
    assert np.median(errors) < 0.0007


def test_simpler_methods_fail_where_a_sketch_meets_paint():
    pair, _, _ = compared("sketch>full", 104)
    errors = baseline_errors(pair)
    assert min(errors["none"], errors["ecc"], errors["phase"]) > 0.003


def test_a_picture_lies_exactly_on_itself():
    found = compared_with_itself("line>ink", 105).alignment
    assert found.state == "aligned"
    same = replace(pair_of("line>ink", 105), a_to_b=np.eye(3))
    assert corner_error(same, found.readings[0].a_to_b_px) < 0.00002


def test_there_and_back_is_the_way_out_reversed():
    pair, _, found = compared("line>ink", 105)
    out, back = found.alignment.a_to_b(), align(prepare(pair.b), prepare(pair.a)).a_to_b()
    for x, y in ((0.1, 0.1), (0.9, 0.15), (0.5, 0.9)):
        home = back.apply(out.apply(Point(x, y)))
        assert abs(home.x - x) < 0.001 and abs(home.y - y) < 0.001


def test_pictures_of_different_scenes_are_refused():
    assert compared_across(("sketch>full", 104), ("full>full", 108)).alignment.state == "not-aligned"


def test_recolouring_hardly_moves_the_map():
    pair, _, found = compared("flats>full", 107)
    plain = found.alignment
    recoloured = align(prepare(np.ascontiguousarray(255 - pair.a[..., ::-1])), prepare(pair.b))
    there = replace(pair, a_to_b=np.vstack([np.reshape(plain.readings[0].a_to_b_px, (2, 3)), [0, 0, 1]]))
    assert corner_error(there, recoloured.readings[0].a_to_b_px) < 0.001


def test_part_of_the_page_is_found_at_one_and_a_half_times_the_size():
    pair = pair_of("sketch>ink", 111, part_scale=(1.2, 1.875))
    found = aligned("sketch>ink", 111, part_scale=(1.2, 1.875))
    assert found.state in ("aligned", "check")
    assert corner_error(pair, found.readings[0].a_to_b_px) < 0.005


def test_a_page_of_three_figures_is_not_laid_wrongly_with_confidence():
    pair = pair_of("sketch>full", 206, n_figures=3, n_hills=0)  # two of the three were moved: nobody could say
    found = aligned("sketch>full", 206, n_figures=3, n_hills=0)
    assert found.state != "aligned" or corner_error(pair, found.readings[0].a_to_b_px) < 0.01


def test_three_figures_of_which_two_moved_alike_are_not_laid_with_confidence():
    # The part shows three figures; two of them moved by 24 mm the same way, so the third seems to have moved.
    pair = turned_round(pair_of("ink>sketch", 238, part_scale=(1.45, 1.95)))
    found = align(prepare(pair.a), prepare(pair.b))
    assert found.state != "aligned" or corner_error(pair, found.readings[0].a_to_b_px) < 0.01


def test_bare_paper_is_not_aligned():
    bare = np.full((600, 900, 3), 250, np.uint8)
    found = align(prepare(bare), prepare(pair_of("line>ink", 105).b))
    assert found.state == "not-aligned"


def test_a_picture_must_be_three_8_bit_channels():
    with pytest.raises(ValueError, match="three 8-bit channels"):
        prepare(np.zeros((100, 100), np.uint8))


def test_a_sliver_is_refused():
    with pytest.raises(TooNarrow):
        prepare(np.zeros((10, 4000, 3), np.uint8))


def test_where_two_maps_lie_on_nothing_neither_is_set_above_the_other():
    nothing, something = SimpleNamespace(rank=0.0), SimpleNamespace(rank=0.4)
    assert _runner_up([nothing, nothing]) == 1.0
    assert _runner_up([something, nothing]) == 0.0
    assert _runner_up([something]) == 0.0
