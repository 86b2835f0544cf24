"""Colours stored as whole numbers with a sign, which only a TIFF can hold.

By TIFF 6.0 section 19 they have the whole range of their kind, so that black is the smallest of them. Programs that
merely hold their numbers so never go below nought, and mean that as black: the numbers themselves tell which it is.
"""

from __future__ import annotations

from typing import Any

_UNSIGNED = {"char": ("uchar", 8), "short": ("ushort", 16), "int": ("uint", 32)}
_LAB = ("lab", "labs", "labq")


def is_signed(image: Any) -> bool:
    """Whether a picture's channels are whole numbers with a sign; those of Lab mean something else."""
    return image.format in _UNSIGNED and image.interpretation not in _LAB


def goes_below_nought(image: Any) -> bool:
    """Read a sequential picture to its end; it cannot be read again."""
    return bool(image.min() < 0)


def without_sign(image: Any, *, is_below: bool) -> Any:
    """Bring the channels to numbers without a sign, over their whole range."""
    form, bits = _UNSIGNED[image.format]
    top = float(2**bits - 1)
    wide = image.cast("double")
    spread = wide + 2.0 ** (bits - 1) if is_below else wide * (top / (2.0 ** (bits - 1) - 1))
    return spread.rint().cast(form).copy(interpretation=image.interpretation)
