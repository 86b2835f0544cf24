"""How a TIFF stores pixels that cannot be read here, in words for the person who sent it."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext, gettext_lazy

from reviews.pages.wording.coded import Values

_JPEG = 7
_CARRIED = (1, 5, _JPEG, 8, 32773, 32946)
# As the TIFF specification, its supplements and the registry of tags number them.
_COMPRESSED: dict[int, str] = {
    2: "CCITT",
    3: "CCITT fax 3",
    4: "CCITT fax 4",
    6: "old-style JPEG",
    9: "JBIG",
    10: "JBIG",
    32766: "NeXT",
    32809: "ThunderScan",
    32909: "PixarLog",
    33003: "JPEG 2000",
    33004: "JPEG 2000",
    33005: "JPEG 2000",
    34661: "JBIG",
    34676: "LogLuv",
    34677: "LogLuv",
    34712: "JPEG 2000",
    34887: "LERC",
    34892: "lossy raw",
    34925: "LZMA",
    50000: "Zstandard",
    50001: "WebP",
    50002: "JPEG XL",
    52546: "JPEG XL",
}
_NUMBERS: dict[str, Any] = {
    "whole": gettext_lazy("{bits}-bit whole numbers"),
    "signed": gettext_lazy("{bits}-bit whole numbers with a sign"),
    "floating": gettext_lazy("{bits}-bit floating-point numbers"),
    "complex": gettext_lazy("{bits}-bit complex numbers"),
    "unknown": gettext_lazy("{bits}-bit numbers of no stated kind"),
}


def stored_sentence(values: Values) -> str:
    """Say exactly what such a TIFF holds and what to send instead."""
    return gettext(
        "This TIFF holds {what}, which cannot be read here. Save it as a TIFF of 8 or 16 bits (LZW) or as a JPEG and "
        "send that."
    ).format(what=_what(values))


def _what(values: Values) -> str:
    bits, compression = values["bits"], values["compression"]
    if compression == _JPEG and values["is_lossless"]:
        return gettext("a lossless JPEG of {bits} bits").format(bits=bits)
    if compression == _JPEG and bits != 8:
        return gettext("a JPEG of {bits} bits").format(bits=bits)
    if compression not in _CARRIED:
        name = _COMPRESSED.get(compression, gettext("method {n}").format(n=compression))
        return gettext("pixels compressed by {name}").format(name=name)
    if not bits:
        return gettext("channels of different depths")
    numbers = str(_NUMBERS[values["numbers"]]).format(bits=bits)
    return gettext("{numbers}, each channel stored apart").format(numbers=numbers) if values["is_planar"] else numbers
