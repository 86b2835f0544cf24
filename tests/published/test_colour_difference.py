"""CIEDE2000 against its published pairs, and against two independent libraries."""

from __future__ import annotations

import random

import numpy as np
import pytest
from coloraide import Color
from skimage.color import deltaE_ciede2000

from reviews.press.colour_difference import Lab, ciede2000, difference_1976, grey_difference, hue_difference

# Sharma, Wu, Dalal 2005, Table 1: L1, a1, b1, L2, a2, b2, CIEDE2000.
SHARMA = [
    (50.0000, 2.6772, -79.7751, 50.0000, 0.0000, -82.7485, 2.0425),
    (50.0000, 3.1571, -77.2803, 50.0000, 0.0000, -82.7485, 2.8615),
    (50.0000, 2.8361, -74.0200, 50.0000, 0.0000, -82.7485, 3.4412),
    (50.0000, -1.3802, -84.2814, 50.0000, 0.0000, -82.7485, 1.0000),
    (50.0000, -1.1848, -84.8006, 50.0000, 0.0000, -82.7485, 1.0000),
    (50.0000, -0.9009, -85.5211, 50.0000, 0.0000, -82.7485, 1.0000),
    (50.0000, 0.0000, 0.0000, 50.0000, -1.0000, 2.0000, 2.3669),
    (50.0000, -1.0000, 2.0000, 50.0000, 0.0000, 0.0000, 2.3669),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0009, 7.1792),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0010, 7.1792),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0011, 7.2195),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0012, 7.2195),
    (50.0000, -0.0010, 2.4900, 50.0000, 0.0009, -2.4900, 4.8045),
    (50.0000, -0.0010, 2.4900, 50.0000, 0.0010, -2.4900, 4.8045),
    (50.0000, -0.0010, 2.4900, 50.0000, 0.0011, -2.4900, 4.7461),
    (50.0000, 2.5000, 0.0000, 50.0000, 0.0000, -2.5000, 4.3065),
    (50.0000, 2.5000, 0.0000, 73.0000, 25.0000, -18.0000, 27.1492),
    (50.0000, 2.5000, 0.0000, 61.0000, -5.0000, 29.0000, 22.8977),
    (50.0000, 2.5000, 0.0000, 56.0000, -27.0000, -3.0000, 31.9030),
    (50.0000, 2.5000, 0.0000, 58.0000, 24.0000, 15.0000, 19.4535),
    (50.0000, 2.5000, 0.0000, 50.0000, 3.1736, 0.5854, 1.0000),
    (50.0000, 2.5000, 0.0000, 50.0000, 3.2972, 0.0000, 1.0000),
    (50.0000, 2.5000, 0.0000, 50.0000, 1.8634, 0.5757, 1.0000),
    (50.0000, 2.5000, 0.0000, 50.0000, 3.2592, 0.3350, 1.0000),
    (60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644),
    (63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630),
    (61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731),
    (35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645),
    (22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373),
    (36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146),
    (90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441),
    (90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381),
    (6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377),
    (2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082),
]


def random_pairs(n: int) -> list[tuple[Lab, Lab]]:
    dice = random.Random(20261128)
    one = [Lab(dice.uniform(0, 100), dice.uniform(-110, 110), dice.uniform(-110, 110)) for _ in range(n)]
    # Half of them near each other, as patches of a proof are.
    return [(lab, Lab(*(v + dice.gauss(0, 3) for v in lab)) if at % 2 else one[at - 1]) for at, lab in enumerate(one)]


def test_all_34_pairs_of_the_table_are_there():
    assert len(SHARMA) == 34


@pytest.mark.parametrize("row", SHARMA)
def test_the_published_pairs_both_ways_round(row):
    """Sharma, Wu and Dalal, Color Research and Application 30(1), 2005, Table 1, to its own rounding."""
    one, two = Lab(*row[:3]), Lab(*row[3:6])
    assert ciede2000(one, two) == pytest.approx(row[6], abs=1e-4)
    assert ciede2000(two, one) == pytest.approx(row[6], abs=1e-4)


def test_white_and_black_are_a_hundred_apart():
    """The ICC's HDR working group lists 100, 0, 0 against 0, 0, 0 as 100.0."""
    assert ciede2000(Lab(100, 0, 0), Lab(0, 0, 0)) == pytest.approx(100.0, abs=1e-4)


def test_scikit_image_gives_the_same():
    pairs = random_pairs(2000)
    theirs = deltaE_ciede2000(np.array([a for a, _ in pairs]), np.array([b for _, b in pairs]))
    assert np.allclose([ciede2000(a, b) for a, b in pairs], theirs, atol=1e-6)


def test_coloraide_gives_the_same():
    for one, two in random_pairs(400):
        a, b = (Color("lab-d65", [*lab]) for lab in (one, two))
        assert ciede2000(one, two) == pytest.approx(a.delta_e(b, method="2000"), abs=1e-6)


# FOGRA39 aims, and two sheets: TR006's and FOGRA51's own values. Expected figures were computed with colour-science.
AIMS = {"paper": (95, 0, -2), "C": (55, -37, -50), "M": (48, 74, -3), "Y": (89, -5, 93), "K": (16, 0, 0)}
SHEETS = {
    "TR006": {
        "paper": ((95, -0.02, -1.96), 0.047, None),
        "C": ((54.96, -37.12, -50), 0.058, 0.096),
        "M": ((47.93, 74.11, -3.01), 0.074, 0.006),
        "Y": ((88.94, -5.02, 93.17), 0.051, 0.011),
        "K": ((14.95, 0.19, -0.14), 0.762, None),
    },
    "FOGRA51": {
        "paper": ((95, 1.50, -6.00), 3.907, None),
        "C": ((56.12, -34.90, -52.52), 1.657, 3.166),
        "M": ((48.06, 75.29, -5.18), 0.894, 2.106),
        "Y": ((88.94, -4.04, 92.37), 0.510, 0.928),
        "K": ((16.00, 0.07, -0.33), 0.344, None),
    },
}


@pytest.mark.parametrize("sheet", SHEETS)
def test_solids_of_two_published_conditions_against_a_third(sheet):
    for name, (values, de00, hue) in SHEETS[sheet].items():
        aim, lab = Lab(*AIMS[name]), Lab(*values)
        assert ciede2000(aim, lab) == pytest.approx(de00, abs=6e-4), name
        if hue is not None:
            assert hue_difference(aim, lab) == pytest.approx(hue, abs=6e-4), name


def test_hue_difference_is_what_lightness_and_chroma_leave():
    for one, two in random_pairs(300):
        lightness = one.lightness - two.lightness
        chroma = np.hypot(one.a, one.b) - np.hypot(two.a, two.b)
        rest = difference_1976(one, two) ** 2 - lightness**2 - chroma**2
        assert hue_difference(one, two) ** 2 == pytest.approx(max(rest, 0), abs=1e-6)


def test_grey_balance_does_not_ask_for_lightness():
    assert grey_difference(Lab(20, 1, 1), Lab(80, 4, 5)) == pytest.approx(5.0)
