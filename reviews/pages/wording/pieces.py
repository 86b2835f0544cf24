"""The piece a spread becomes, in words: how large it is."""

from __future__ import annotations

from django.utils.translation import gettext as _

from reviews.press.flats import Flat


def size_words(flat: Flat) -> str:
    """Say the size of a file to deliver, with and without its bleed."""
    trimmed, whole = ((flat.width_mm, flat.height_mm), flat.with_bleed_mm)
    values = {"trimmed": _millimetres(trimmed), "whole": _millimetres(whole), "bleed": f"{flat.bleed_mm:.8g}"}
    if not flat.bleed_mm:
        return _("%(trimmed)s mm, without bleed") % values
    return _("%(whole)s mm: %(trimmed)s mm as cut, and %(bleed)s mm bleed on every side") % values


def _millimetres(size: tuple[float, float]) -> str:
    return " × ".join(f"{round(side, 2):.8g}" for side in size)
