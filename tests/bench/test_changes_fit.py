"""The fit behind the comparison's scores, on samples whose weights are known."""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench.changes_fit import KEPT, as_source, fit, same_calls

TRUE, TRUE_BIAS = np.array([2.0, -1.0, 0.0]), 0.5


def drawn_samples(count: int = 4000) -> list[tuple[np.ndarray, bool]]:
    rng = np.random.default_rng(4)
    x = np.column_stack([rng.normal(0, 1, (count, 2)), np.full(count, 3.0)])
    yes = rng.random(count) < 1 / (1 + np.exp(-(x @ TRUE + TRUE_BIAS)))
    return list(zip(x, map(bool, yes), strict=True))


def test_known_weights_are_found_again_and_what_never_varies_gets_none():
    weights, bias = fit(drawn_samples())
    assert weights == pytest.approx(TRUE, abs=0.2)
    assert weights[2] == 0
    assert bias == pytest.approx(TRUE_BIAS, abs=0.2)


def test_what_is_kept_calls_everything_as_it_does_itself_and_little_as_its_opposite():
    kept, bias = KEPT["touched"].weight_vector, KEPT["touched"].bias
    rows = [(row, True) for row in np.random.default_rng(5).uniform(0, 1, (500, len(kept)))]
    assert same_calls("touched", rows, kept, bias) == 1
    assert same_calls("touched", rows, -kept, -bias) == 0


def test_fitted_weights_are_printed_as_they_stand_in_the_source():
    kept = KEPT["places, paint"]
    printed = as_source("places, paint", kept.weight_vector, kept.bias)
    weights = eval(printed.split("bias=")[0].rstrip().rstrip(","))
    assert weights == dict(kept.weights)
    assert printed.endswith(f"bias={kept.bias},")
