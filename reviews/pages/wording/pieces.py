"""The piece a spread becomes, in words: how large it is, and why no template of it is drawn."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from reviews.press.flats import Flat

TEMPLATE_REFUSALS: dict[str, Promise] = {
    "template-of-cover": gettext_lazy(
        "There is no template of a cover here: its size needs the spine, and so the paper. Ask the printer for theirs."
    ),
    "template-ppi": gettext_lazy("A template has between 36 and 1200 ppi. Give a whole number in that range."),
    "template-pixels": gettext_lazy(
        "At {ppi} ppi this template would have {width} × {height} pixels, which cannot be drawn here. Choose another "
        "resolution, or take the PDF or the SVG."
    ),
}


def size_words(flat: Flat) -> str:
    """Say the size of a file to deliver, with and without its bleed."""
    trimmed, whole = ((flat.width_mm, flat.height_mm), flat.with_bleed_mm)
    values = {"trimmed": _millimetres(trimmed), "whole": _millimetres(whole), "bleed": f"{flat.bleed_mm:.8g}"}
    if not flat.bleed_mm:
        return _("%(trimmed)s mm, without bleed") % values
    return _("%(whole)s mm: %(trimmed)s mm as cut, and %(bleed)s mm bleed on every side") % values


def _millimetres(size: tuple[float, float]) -> str:
    return " × ".join(f"{round(side, 2):.8g}" for side in size)
