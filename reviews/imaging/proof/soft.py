"""A picture as a printing condition would print it, and where its inks cannot give a colour.

Two conversions by littleCMS: into the inks with the rendering that was asked, in 16 bits, then from the inks to sRGB by
the relative intent, or the absolute where the paper's white is to be seen. A colour lies outside where going into the
inks and back, relative to the paper and without black point compensation, gives another one: whatever rendering is
chosen, those are what has to be moved.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from reviews.imaging._vips import GValue, Image
from reviews.imaging.arrays import Floats32, Pixels
from reviews.imaging.files.colour import Colour
from reviews.press.soft_proof import Rendering

_PATCHES = 64  # on a side
_MOST_INK = 300.0 / 100 * 255  # of the patches: beyond the usual limit tables are seldom right


@dataclass(frozen=True)
class DeviceColours:
    """Device colours in 8 bits, and how they are read: by the profile within, or by a profile of the library."""

    image: Any
    is_embedded: bool
    fallback: str

    @property
    def is_inks(self) -> bool:
        return bool(self.image.bands == 4)


def source_of(pixels: Pixels, colour: Colour) -> DeviceColours:
    """Tag (rows, columns, channels) uint8 as ``colour`` reads them; grey without a profile is sRGB's grey."""
    space, profile = colour.space, colour.profile
    if space == "LAB" or (space == "GREY" and profile is None):
        pixels = np.repeat(pixels, 3, axis=2) if pixels.shape[2] == 1 else pixels
        space, profile = "RGB", None
    image = _image(pixels, {"CMYK": "cmyk", "GREY": "b-w", "RGB": "srgb"}[space])
    if profile is not None:
        image.set_type(GValue.blob_type, "icc-profile-data", profile)
    return DeviceColours(image, profile is not None, "cmyk" if space == "CMYK" else "srgb")


def as_printed(
    source: DeviceColours, profile: str, rendering: Rendering, *, has_black_point: bool, shows_paper: bool
) -> Any:  # fmt: skip
    """Show it in sRGB, 8 bits, as printed by the condition of a CMYK profile (a path)."""
    if rendering == Rendering.OWN_INKS:
        inks = source.image
    else:
        inks = _into_inks(source, profile, str(rendering), has_black_point=has_black_point)
    return inks.icc_transform(
        "srgb",
        input_profile=profile,
        embedded=False,
        intent="absolute" if shows_paper else "relative",
        black_point_compensation=False,
        depth=8,
    )


def _into_inks(source: DeviceColours, profile: str, intent: str, *, has_black_point: bool) -> Any:
    return source.image.icc_transform(
        profile,
        embedded=source.is_embedded,
        input_profile=source.fallback,
        intent=intent,
        black_point_compensation=has_black_point,
        depth=16,
    )


def off_by(source: DeviceColours, profile: str) -> Floats32:
    """Give for each pixel how far the inks miss its colour at the best, in CIEDE2000, the paper taken for white."""
    meant = source.image.icc_import(
        embedded=source.is_embedded, input_profile=source.fallback, intent="relative", pcs="lab"
    )
    return _difference(meant, _into_inks(source, profile, "relative", has_black_point=False), profile)


def own_error(profile: str) -> float:
    """Give how far a profile's tables miss colours of their own inks: 95 of 100 patches by no more (CIEDE2000)."""
    dice = np.random.default_rng(12)
    patches = dice.integers(0, 256, (_PATCHES * _PATCHES, 4))
    over = np.maximum(1.0, patches.sum(axis=1, keepdims=True) / _MOST_INK)
    square = (patches / over).astype(np.uint8).reshape(_PATCHES, _PATCHES, 4)
    meant = _image(square, "cmyk").icc_import(input_profile=profile, intent="relative", pcs="lab")
    printed = meant.icc_export(output_profile=profile, intent="relative", depth=16)
    return float(np.percentile(_difference(meant, printed, profile), 95))


def _difference(meant: Any, inks: Any, profile: str) -> Floats32:
    printed = inks.icc_import(input_profile=profile, embedded=False, intent="relative", pcs="lab")
    apart = meant.dE00(printed)
    found: Floats32 = np.asarray(apart.numpy(), np.float32).reshape(apart.height, apart.width)
    return found


def _image(pixels: Pixels, interpretation: str) -> Any:
    high, wide, bands = pixels.shape
    made = Image.new_from_memory(np.ascontiguousarray(pixels), wide, high, bands, "uchar")
    return made.copy(interpretation=interpretation)
