"""Measures as people type them at a prompt: "250x250mm", "8.5x11in", "0.06mm", "3mm"."""

from __future__ import annotations

import re

from reviews.geometry import MM_PER_INCH

_UNITS = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH}
_NUMBER = r"(-?\d+(?:[.,]\d+)?)"


class NoMeasure(ValueError):
    """What was typed is no measure."""


def size_mm(typed: str) -> tuple[float, float]:
    """Read a width and a height, in mm."""
    found = re.fullmatch(rf"\s*{_NUMBER}\s*[x×]\s*{_NUMBER}\s*(mm|cm|in)\s*", typed)
    if found is None:
        raise NoMeasure(f"“{typed}” is no size. Write it like 250x250mm or 8.5x11in.")
    return _value(found[1], found[3]), _value(found[2], found[3])


def length_mm(typed: str) -> float:
    """Read one length, in mm."""
    found = re.fullmatch(rf"\s*{_NUMBER}\s*(mm|cm|in)\s*", typed)
    if found is None:
        raise NoMeasure(f"“{typed}” is no length. Write it like 3mm or 0.125in.")
    return _value(found[1], found[2])


def _value(number: str, unit: str) -> float:
    return float(number.replace(",", ".")) * _UNITS[unit]
