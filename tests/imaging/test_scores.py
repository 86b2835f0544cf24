"""The scores by which places are ranked and notes called touched: weights by name, in one order."""

from __future__ import annotations

import numpy as np
import pytest

from reviews.imaging.changes import place_weights, touch_evidence
from reviews.imaging.changes.scores import Score

SCORES = [place_weights.LINES, place_weights.PAINT, touch_evidence.SCORE, place_weights.SIMILAR]
KNOWN = Score(("far", "near"), {"near": 2.0}, bias=-1.0, least=0.5)


def test_what_is_seen_is_weighed_by_its_name_whatever_the_order_it_comes_in():
    wanted = 1 / (1 + np.exp(-(2.0 * 3 - 1.0)))
    assert KNOWN.of({"near": 3, "far": 100}) == KNOWN.of({"far": 100, "near": 3}) == pytest.approx(wanted)


def test_a_weight_for_something_that_is_not_seen_is_an_error():
    with pytest.raises(ValueError, match="faar"):
        Score(("far",), {"faar": 1.0}, bias=0.0, least=0.5)


@pytest.mark.parametrize("seen", [{"far": 1.0}, {"far": 1.0, "near": 1.0, "high": 1.0}])
def test_a_feature_too_few_or_too_many_is_an_error(seen):
    with pytest.raises(ValueError, match="differ"):
        KNOWN.of(seen)


@pytest.mark.parametrize("score", SCORES)
def test_no_feature_is_named_twice(score):
    assert len(set(score.features)) == len(score.features)


def test_the_weights_stand_where_they_stood():
    """Some of each vector by its place, as the fit has printed them: a name moved to another place would show here."""
    lines, paint, touched, similar = (score.weight_vector for score in SCORES)
    assert (len(lines), len(paint), len(touched), len(similar)) == (66, 11, 15, 25)
    assert [lines[i] for i in (0, 3, 9, 18, 31, 39, 57)] == [0.36, -1.966, 1.388, 0.026, 0.972, 0.481, 1.105]
    assert [paint[i] for i in (0, 2, 3, 9)] == [0.321, 0.187, 2.178, -1.319]
    assert [touched[i] for i in (0, 5, 6, 12, 13)] == [0.685, -2.396, 8.494, 3.019, 3.731]
    assert [similar[i] for i in (0, 5, 9, 14, 17)] == [1.689, 3.149, 2.448, -0.267, -2.087]
