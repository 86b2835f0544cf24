"""Colour differences of two CIELAB colours: CIEDE2000, and the plain ones that proof reports need.

CIEDE2000 after Sharma, Wu and Dalal, "The CIEDE2000 Color-Difference Formula: Implementation Notes, Supplementary Test
Data, and Mathematical Observations", Color Research and Application 30(1), 2005. All colours under one illuminant (D50
and the 2° observer in print).
"""

from __future__ import annotations

from math import atan2, cos, degrees, exp, hypot, radians, sin, sqrt
from typing import NamedTuple


class Lab(NamedTuple):
    """CIELAB: lightness 0 to 100, a and b without bounds."""

    lightness: float
    a: float
    b: float


_25_TO_7 = 25.0**7


def ciede2000(one: Lab, two: Lab) -> float:
    """Give the CIEDE2000 difference with all three weights 1; the same both ways round."""
    c_mean = (hypot(one.a, one.b) + hypot(two.a, two.b)) / 2
    stretch = 1.5 - 0.5 * sqrt(c_mean**7 / (c_mean**7 + _25_TO_7))
    a1, a2 = one.a * stretch, two.a * stretch
    c1, c2 = hypot(a1, one.b), hypot(a2, two.b)
    h1, h2 = _hue(a1, one.b), _hue(a2, two.b)
    d_h, h_mean = _hues(h1, h2, achromatic=not c1 * c2)
    d_l, d_c = two.lightness - one.lightness, c2 - c1
    d_big_h = 2 * sqrt(c1 * c2) * sin(radians(d_h) / 2)
    l_mean, c_mean = (one.lightness + two.lightness) / 2, (c1 + c2) / 2
    s_l = 1 + 0.015 * (l_mean - 50) ** 2 / sqrt(20 + (l_mean - 50) ** 2)
    s_c = 1 + 0.045 * c_mean
    s_h = 1 + 0.015 * c_mean * _hue_weight(h_mean)
    turn = 30 * exp(-(((h_mean - 275) / 25) ** 2))
    r_t = -sin(radians(2 * turn)) * 2 * sqrt(c_mean**7 / (c_mean**7 + _25_TO_7))
    light, chroma, hue = d_l / s_l, d_c / s_c, d_big_h / s_h
    return sqrt(light**2 + chroma**2 + hue**2 + r_t * chroma * hue)


def _hue(a: float, b: float) -> float:
    return degrees(atan2(b, a)) % 360 if a or b else 0.0


def _hues(h1: float, h2: float, *, achromatic: bool) -> tuple[float, float]:
    """Give the difference and the mean of two hues in degrees; with a grey there is no difference, and they add up."""
    if achromatic:
        return 0.0, h1 + h2
    d_h, total = h2 - h1, h1 + h2
    if abs(d_h) <= 180:
        return d_h, total / 2
    d_h += -360 if d_h > 0 else 360
    return d_h, (total + 360) / 2 if total < 360 else (total - 360) / 2


def _hue_weight(h_mean: float) -> float:
    return (
        1
        - 0.17 * cos(radians(h_mean - 30))
        + 0.24 * cos(radians(2 * h_mean))
        + 0.32 * cos(radians(3 * h_mean + 6))
        - 0.20 * cos(radians(4 * h_mean - 63))
    )


def difference_1976(one: Lab, two: Lab) -> float:
    """Give the plain distance in CIELAB."""
    return sqrt(sum((x - y) ** 2 for x, y in zip(one, two, strict=True)))


def hue_difference(one: Lab, two: Lab) -> float:
    """Give the metric hue difference of CIELAB (not CIEDE2000's): the distance less lightness and chroma."""
    d_c = hypot(one.a, one.b) - hypot(two.a, two.b)
    # Twice the product of chromas less the scalar product: the same as the remainder, without taking squares apart.
    rest = (one.a - two.a) ** 2 + (one.b - two.b) ** 2 - d_c**2
    return sqrt(max(rest, 0.0))


def grey_difference(one: Lab, two: Lab) -> float:
    """Give the distance in a and b alone, by which the balance of a grey is judged."""
    return hypot(one.a - two.a, one.b - two.b)
