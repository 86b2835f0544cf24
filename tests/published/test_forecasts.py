"""Forecasting methods against published networks and exactly known laws."""

import math
from itertools import product

import numpy as np
import pytest

from reviews.rules.forecast.network import (
    Activity,
    ThreePoint,
    critical_path,
    exact_sums,
    nearest_rank,
    reference_class,
)
from reviews.rules.forecast.simulation import bootstrap_sums, sample, simulate_network


def network(text):
    activities = []
    for line in text.split(";"):
        name, estimates, *after = line.split()
        activities.append(Activity(name, ThreePoint(*map(float, estimates.split(","))), tuple(after)))
    return activities


# The textbook PERT network with fourteen activities of Heizer and Render, Operations Management (the renovation of
# a hotel); figures from a published solution of that exercise. Simulated values computed independently.
TEXTBOOK = network(
    "A 5,5,7; B 1,2,5; C 5,5,5 A; D 4,8,13 A; E 1,10,17 B C; F 1,5,7 D; G 2,6,9 D; H 4,4,6 E F; I 2,7,10 G H; "
    "J 2,4,7 I; K 6,10,13 I; L 2,6,6 J; M 2,2,3 K; N 7,7,12 L M"
)

# Hillier and Lieberman, Introduction to Operations Research: the construction company's project. Estimates from
# memory, results computed again independently.
CONSTRUCTION = network(
    "A 1,2,3; B 2,3.5,8 A; C 6,9,18 B; D 4,5.5,10 C; E 1,4.5,5 C; F 4,4,10 E; G 5,6.5,11 D; H 5,8,17 E G; I 3,7.5,9 C; "
    "J 3,9,9 F I; K 4,4,4 J; L 1,5.5,7 J; M 1,2,3 H; N 5,5.5,9 K L"
)

# The seven-activity example of an encyclopaedia's article on PERT (from memory, computed again).
SEVEN = network("a 2,4,6; b 3,5,9; c 4,5,7 a; d 4,6,10 a; e 4,5,7 b c; f 3,4,8 d; g 3,5,8 e")


def test_textbook_network():
    path = critical_path(TEXTBOOK)
    assert "".join(path.steps) == "ACEHIKMN"
    assert path.mean == pytest.approx(50.83, abs=0.005)
    assert path.variance == pytest.approx(11.194, abs=0.0005)
    assert math.sqrt(path.variance) == pytest.approx(3.346, abs=0.0005)
    assert path.chance_within(53) == pytest.approx(0.7414, abs=0.0005)
    assert path.chance_within(55) == pytest.approx(0.8935, abs=0.0005)


def test_textbook_network_simulated_shows_the_merge_bias():
    days = simulate_network(TEXTBOOK, 400_000, seed=11)
    assert days.mean() == pytest.approx(51.62, abs=0.03)
    assert np.mean(days <= 55) == pytest.approx(0.852, abs=0.003)
    assert np.quantile(days, 0.8) == pytest.approx(54.3, abs=0.1)
    assert days.mean() > critical_path(TEXTBOOK).mean


def test_construction_network():
    path = critical_path(CONSTRUCTION)
    assert "".join(path.steps) == "ABCEFJLN"
    assert path.mean == pytest.approx(44)
    assert path.variance == pytest.approx(9)
    assert path.chance_within(47) == pytest.approx(0.8413, abs=0.00005)


def test_seven_activities():
    means = [activity.days.mean for activity in SEVEN]
    assert means == pytest.approx([4, 5.33, 5.17, 6.33, 5.17, 4.5, 5.17], abs=0.005)
    path = critical_path(SEVEN)
    assert "".join(path.steps) == "aceg"
    assert path.mean == pytest.approx(19.5, abs=0.005)


# Sum of triangular durations. The mean (a + m + b) / 3 and the variance (a² + m² + b² - ab - am - bm) / 18 of each are
# exact (any table of distributions) and add exactly; the quantiles of the sum were simulated independently.
TRIANGULARS = [ThreePoint(2, 4, 9), ThreePoint(5, 6, 10), ThreePoint(1, 3, 4), ThreePoint(8, 10, 18)]


def test_sum_of_triangulars():
    assert sum(days.triangular_mean for days in TRIANGULARS) == pytest.approx(26.6667, abs=0.00005)
    variance = sum(days.triangular_variance for days in TRIANGULARS)
    assert variance == pytest.approx(8.38889, abs=0.000005)
    assert math.sqrt(variance) == pytest.approx(2.89636, abs=0.000005)
    random = np.random.default_rng(5)
    total = sum(sample(days, 400_000, random, shape="triangular") for days in TRIANGULARS)
    for share, expected in ((0.5, 26.50), (0.8, 29.15), (0.9, 30.56)):
        assert np.quantile(total, share) == pytest.approx(expected, abs=0.03)


def test_triangular_quantiles_invert_the_distribution():
    days = ThreePoint(2, 4, 9)
    drawn = np.sort(sample(days, 400_000, np.random.default_rng(6), shape="triangular"))
    for share in (0.01, 0.2, 2 / 7, 0.5, 0.99):
        assert np.mean(drawn <= days.triangular_quantile(share)) == pytest.approx(share, abs=0.003)


# Exact laws of the uniform distribution (the sum: Irwin and Hall 1927, from memory): a flat pool stands for U(0, 1).
N = 200_000
FLAT = [(n + 0.5) / 1000 for n in range(1000)]


def test_sum_of_three_uniforms_is_at_most_one_in_a_sixth_of_cases():
    share = np.mean(bootstrap_sums([FLAT] * 3, N, seed=7) <= 1)
    assert share == pytest.approx(1 / 6, abs=3 * math.sqrt(1 / 6 * 5 / 6 / N))


def test_the_later_of_two_uniforms_is_two_thirds_on_average():
    later = np.maximum(bootstrap_sums([FLAT], N, seed=8), bootstrap_sums([FLAT], N, seed=9))
    assert later.mean() == pytest.approx(2 / 3, abs=3 * math.sqrt(1 / 18 / N))


# The exact bootstrap (Efron 1979, from memory) of two stages with three past durations each: nine sums, all equally
# likely. A worked example of our own, counted by hand.
HISTORIES = ([10, 12, 20], [5, 6, 10])
SUMS = [15, 16, 17, 18, 20, 22, 25, 26, 30]


def test_exact_bootstrap():
    assert exact_sums(HISTORIES) == SUMS == sorted(a + b for a, b in product(*HISTORIES))
    assert sum(SUMS) / 9 == pytest.approx(21.0)
    assert nearest_rank(SUMS, 0.5) == 20
    assert nearest_rank(SUMS, 0.8) == 26


def test_simulated_bootstrap_agrees_with_the_exact_one():
    drawn = bootstrap_sums(HISTORIES, 90_000, seed=9)
    found, counts = np.unique(drawn, return_counts=True)
    assert found.tolist() == SUMS
    # Each of nine sums should come 10,000 times; four standard deviations of that count are 377.
    assert np.abs(counts - 10_000).max() < 377
    assert np.quantile(drawn, 0.5, method="inverted_cdf") == 20
    assert np.quantile(drawn, 0.8, method="inverted_cdf") == 26


# Reference-class forecasting (Kahneman and Tversky 1979; Flyvbjerg 2006), a worked example of our own.
RATIOS = [0.9, 1.0, 1.0, 1.1, 1.2, 1.25, 1.4, 1.5, 1.8, 2.5]


@pytest.mark.parametrize(("share", "days"), [(0.5, 48), (0.8, 60)])
def test_reference_class(share, days):
    assert reference_class(RATIOS, 40, share) == pytest.approx(days)
