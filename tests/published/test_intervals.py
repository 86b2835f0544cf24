"""The exact interval of a proportion against published examples.

Newcombe, “Two-sided confidence intervals for the single proportion”, Statistics in Medicine
17 (1998) 857–872, table I, method 5 (Clopper–Pearson), 95 %; the figures are quoted from memory. What no memory is
needed for stands beside them: of n tries without a hit, the upper end is 1 - 0.025 ** (1 / n).
"""

import pytest
from scipy.special import betaincinv

from reviews.imaging.changes.sureness import exact_interval

NEWCOMBE = [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617), (0, 20, 0.0, 0.1684), (1, 29, 0.0009, 0.1776)]


@pytest.mark.parametrize(("n_hits", "n_tries", "low", "high"), NEWCOMBE)
def test_the_interval_is_the_published_one(n_hits, n_tries, low, high):
    assert exact_interval(n_hits, n_tries) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize("n_tries", [1, 38, 200, 500])
def test_without_a_hit_the_upper_end_is_the_closed_form(n_tries):
    assert exact_interval(0, n_tries) == pytest.approx((0, 1 - 0.025 ** (1 / n_tries)))


def test_hits_and_misses_mirror_each_other():
    low, high = exact_interval(3, 40)
    assert exact_interval(37, 40) == pytest.approx((1 - high, 1 - low))


@pytest.mark.parametrize(("n_hits", "n_tries"), [(82, 5002), (1275, 1353), (4999, 5000), (1, 20_000)])
def test_the_ends_are_quantiles_of_the_beta_distribution_however_many_the_tries(n_hits, n_tries):
    """Clopper and Pearson 1934 in the form of the incomplete beta function, as SciPy inverts it."""
    low, high = exact_interval(n_hits, n_tries)
    assert low == pytest.approx(betaincinv(n_hits, n_tries - n_hits + 1, 0.025), rel=1e-6)
    assert high == pytest.approx(betaincinv(n_hits + 1, n_tries - n_hits, 0.975), rel=1e-6)
