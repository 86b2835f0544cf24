"""The piece a spread becomes, in words: how large it is, and why no template of it is drawn."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from reviews.press.flats import Flat

TEMPLATE_REFUSALS: dict[str, Promise] = {
    "template-of-cover": gettext_lazy(
        "There is no template of the cover yet: its size needs the spine, and so the paper. Tell it on the print page, "
        "or ask the printer for their template."
    ),
    "template-ppi": gettext_lazy("A template has between 36 and 1200 ppi. Give a whole number in that range."),
    "template-pixels": gettext_lazy(
        "At {ppi} ppi this template would have {width} × {height} pixels, which cannot be drawn here. Choose another "
        "resolution, or take the PDF or the SVG."
    ),
}


#: Common practice: inks are fixed by the printing condition, which the printer names last of all.
CMYK = gettext_lazy(
    "The file is CMYK. Screens show it converted to RGB, and its inks are fixed for one kind of press. Hand in "
    "RGB with its profile, unless the publisher or the printer asked for CMYK."
)


def of_several(n_pages: int) -> str:
    """Say that only the first page of a file is taken."""
    told = ngettext("Page 1 of {n} is taken, and no other.", "Page 1 of {n} is taken, and no other.", n_pages)
    return told.format(n=n_pages)


def size_words(flat: Flat) -> str:
    """Say the size of a file to deliver, with and without its bleed."""
    trimmed, whole = ((flat.width_mm, flat.height_mm), flat.with_bleed_mm)
    values = {"trimmed": _millimetres(trimmed), "whole": _millimetres(whole), "bleed": f"{flat.bleed_mm:.8g}"}
    if not flat.bleed_mm:
        return _("%(trimmed)s mm, without bleed") % values
    return _("%(whole)s mm: %(trimmed)s mm as cut, and %(bleed)s mm bleed on every side") % values


def _millimetres(size: tuple[float, float]) -> str:
    return " × ".join(f"{round(side, 2):.8g}" for side in size)
