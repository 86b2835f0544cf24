"""Maps of the plane that only tests need: made from turn and scale, and turned round."""

from __future__ import annotations

import math

from reviews.geometry import Affine


def similarity(scale: float, turn_degrees: float, shift_x: float, shift_y: float) -> Affine:
    """Return the map that scales, turns (x towards y) and shifts."""
    cos, sin = (scale * wave(math.radians(turn_degrees)) for wave in (math.cos, math.sin))
    return Affine(cos, -sin, shift_x, sin, cos, shift_y)


def inverse(of: Affine) -> Affine:
    """Return the map back; there is none where the plane is folded onto a line."""
    det = of.a * of.e - of.b * of.d
    if abs(det) < 1e-12:
        raise ValueError("This map has no way back.")
    a, b, d, e = of.e / det, -of.b / det, -of.d / det, of.a / det
    return Affine(a, b, -(a * of.c + b * of.f), d, e, -(d * of.c + e * of.f))
