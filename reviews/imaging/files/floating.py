"""Colours stored as floating-point numbers: their white has to be assumed, and their light may be linear.

With a profile they are what the profile says, 0 to 1; without one they are taken for linear light, as programs that
write such numbers mean them.
"""

from __future__ import annotations

from typing import Any

from reviews.imaging._vips import GValue
from reviews.imaging.files import icc

_PROFILE = "icc-profile-data"


def is_floating(image: Any) -> bool:
    """Whether a picture's colours are floating-point numbers of red, green and blue, or of grey."""
    return image.format in ("float", "double") and image.interpretation not in ("lab", "cmyk")


def fitting(profile: bytes | None, space: str) -> bytes | None:
    """Return the profile if it is one for this space."""
    return profile if profile is not None and icc.space_of(profile) == space else None


def shown(image: Any, space: str, profile: bytes | None) -> Any:
    """Bring floating-point colours to 8 bits of sRGB's tone scale once, by their own profile if they have one."""
    n_colours = 1 if space == "GREY" else 3
    light, clear = (
        image.extract_band(0, n=n_colours),
        image.extract_band(n_colours) if image.bands > n_colours else None,
    )
    own = fitting(profile, space)
    if own is None:
        linear = light.bandjoin([light, light]) if n_colours == 1 else light
        out = linear.copy(interpretation="scrgb").colourspace("srgb")
    else:
        deep = (light * 65535.0).rint().cast("ushort").copy(interpretation="grey16" if n_colours == 1 else "rgb16")
        deep.set_type(GValue.blob_type, _PROFILE, own)
        out = deep.icc_transform("srgb", embedded=True, intent="relative", black_point_compensation=True)
    out = out[0] if n_colours == 1 else out
    if clear is not None:
        out = out.bandjoin((clear * 255.0).rint().cast("uchar"))
    return out.copy(interpretation="b-w" if n_colours == 1 else "srgb")
