"""Forecasting methods against exactly known laws and examples counted by hand."""

import math
from itertools import product

import numpy as np
import pytest

from reviews.rules.forecast.pace import sliced
from reviews.rules.forecast.three_point import ThreePoint
from tests.reference_forecast import exact_sums, nearest_rank

# Triangular durations. The mean (a + m + b) / 3 and the variance (a² + m² + b² - ab - am - bm) / 18 of each are exact
# (any table of distributions) and add exactly; the quantiles of the sum were simulated independently.
TRIANGULARS = [ThreePoint(2, 4, 9), ThreePoint(5, 6, 10), ThreePoint(1, 3, 4), ThreePoint(8, 10, 18)]


@pytest.mark.parametrize("days", TRIANGULARS)
def test_triangular_quantiles_invert_the_distribution(days):
    drawn = np.sort(np.random.default_rng(6).triangular(days.shortest, days.likeliest, days.longest, 400_000))
    for share in (0.01, 0.2, 2 / 7, 0.5, 0.99):
        assert np.mean(drawn <= days.triangular_quantile(share)) == pytest.approx(share, abs=0.003)


@pytest.mark.parametrize("days", TRIANGULARS)
def test_a_guess_in_slices_keeps_the_mean_and_nearly_the_spread(days):
    a, m, b = days.shortest, days.likeliest, days.longest
    values = np.asarray(sliced(days).values)
    assert values.mean() == pytest.approx((a + m + b) / 3, rel=0.005)
    assert values.var() == pytest.approx((a * a + m * m + b * b - a * m - a * b - m * b) / 18, rel=0.05)


def test_sum_of_triangulars():
    random = np.random.default_rng(5)
    total = sum(
        np.asarray([days.triangular_quantile(share) for share in random.random(100_000)]) for days in TRIANGULARS
    )
    assert total.mean() == pytest.approx(26.6667, abs=0.03)
    assert total.var() == pytest.approx(8.38889, abs=0.12)
    for share, expected in ((0.5, 26.50), (0.8, 29.15), (0.9, 30.56)):
        assert np.quantile(total, share) == pytest.approx(expected, abs=0.05)


# The exact bootstrap (Efron 1979, from memory) of two stages with three past durations each: nine sums, all equally
# likely. A worked example of our own, counted by hand; the forecast is held against it in tests/rules/test_forecast.py.
HISTORIES = ([10, 12, 20], [5, 6, 10])
SUMS = [15, 16, 17, 18, 20, 22, 25, 26, 30]


def test_the_reference_that_the_forecast_is_held_against():
    assert exact_sums(HISTORIES) == SUMS == sorted(a + b for a, b in product(*HISTORIES))
    assert math.fsum(SUMS) / 9 == pytest.approx(21.0)
    assert nearest_rank(SUMS, 0.5) == 20
    assert nearest_rank(SUMS, 0.8) == 26
    assert [nearest_rank(range(1, 11), share) for share in (0.1, 0.5, 0.8, 0.81, 1)] == [1, 5, 8, 9, 10]
