"""The comparison on scenes of drawings that other people made, so that the guards are not about our own style alone."""

from __future__ import annotations

import os

import numpy as np
import pytest

from tests.drawing_truth import corner_error, counted, hits
from tests.drawings_of_others import MISSING, is_installed, names, strokes_of
from tests.imaging.compared import boxes_mm, compared

pytestmark = pytest.mark.slow

# Held out: one pair guards against a step back; what is reached at large is what tests/bench/changes.py prints.
PAIR = ("line>ink", 200)


@pytest.fixture(autouse=True)
def _installed() -> None:
    if is_installed():
        return
    if os.environ.get("CI", "").lower() == "true":
        pytest.fail(MISSING, pytrace=False)
    pytest.skip(MISSING)


def test_hundreds_of_drawings_are_there_and_most_can_be_read():
    sample = names("others")[:: len(names("others")) // 12]
    assert len(names("others")) > 1000
    assert sum(bool(strokes_of(name)) for name in sample) > len(sample) / 3


def test_no_drawing_is_on_the_side_of_tuning_and_of_measuring():
    tuning, others = set(names("tuning")), set(names("others"))
    assert len(tuning) > 300 and not tuning & others
    assert not {name.rpartition("/")[0] for name in tuning} & {name.rpartition("/")[0] for name in others}


def test_a_drawing_is_a_figure_of_unit_size_with_paint_and_inner_parts():
    strokes = next(s for s in map(strokes_of, names("others")) if s)
    every = np.concatenate([s.points for s in strokes])
    assert np.ptp(every, 0).max() == pytest.approx(1.0, abs=0.03)
    assert any(s.fill and not s.is_inner for s in strokes)


def test_a_scene_of_others_drawings_is_laid_on_its_next_version():
    pair, _, found = compared(*PAIR, art="others")
    assert found.alignment.state in ("aligned", "check")
    assert corner_error(pair, found.alignment.readings[0].a_to_b_px) < 0.003


def test_edits_in_a_scene_of_others_drawings_are_found():
    pair, _, comparison = compared(*PAIR, art="others")
    boxes = [boxes_mm(pair, c) for c in comparison.changes]
    large = [e for e in counted(pair) if e.kind not in ("detail", "recolour")]
    right = sum(any(hits(*b, e) for e in counted(pair)) for b in boxes)
    assert len(large) >= 4, "the pair must hold edits to be found"
    assert right / len(boxes) >= 0.7
    assert sum(any(hits(*b, e) for b in boxes) for e in large) / len(large) >= 0.6
