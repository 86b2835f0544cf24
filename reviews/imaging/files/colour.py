"""One colour conversion for everything that is shown: preview, thumb and tiles go through `to_srgb` and nothing else.

ICC, relative colorimetric with black point compensation. Two conversions that differ only in black point
compensation differ by 15 levels of 255 on average on CMYK art: the picture would jump when the tiles arrive.
"""

from __future__ import annotations

from dataclasses import dataclass

from reviews.imaging._vips import GValue, Image
from reviews.imaging.files import icc
from reviews.imaging.results import AssumedProfile, ColourSpace

ASSUMED: dict[ColourSpace, AssumedProfile] = {"RGB": "rgb", "GREY": "grey", "CMYK": "cmyk"}
ASSUMED_FOR_MISFIT: dict[ColourSpace, AssumedProfile] = {
    "RGB": "rgb-misfit",
    "GREY": "grey-misfit",
    "CMYK": "cmyk-misfit",
}
_PROFILE = "icc-profile-data"


@dataclass(frozen=True)
class Colour:
    """How a picture's numbers are to be read: their space, and the profile if one is used."""

    space: ColourSpace
    profile: bytes | None
    profile_name: str
    assumed: AssumedProfile | None

    @property
    def needs_conversion(self) -> bool:
        if self.space == "CMYK":
            return True
        return self.profile is not None and not icc.is_srgb(self.profile)


def reading_of(space: ColourSpace, profile: bytes | None) -> Colour:
    """Decide how colours are read: by the embedded profile if it fits the picture, else by a stated assumption."""
    if space == "LAB":
        return Colour(space, None, "", None)
    if profile is not None and icc.space_of(profile) == space:
        return Colour(space, profile, icc.name_of(profile) or "unnamed profile", None)
    return Colour(space, None, "", (ASSUMED if profile is None else ASSUMED_FOR_MISFIT)[space])


def device_8bit(image: Image) -> Image:
    """Bring a picture to 8 bits per channel in its own colour space, without alpha, over white paper.

    Lab is the exception: it goes straight to sRGB, since 8-bit Lab bands visibly.
    """
    if image.interpretation in ("lab", "labs", "labq"):
        return _over_white(image.icc_export(output_profile="srgb", intent="relative", black_point_compensation=True))
    if image.interpretation in ("scrgb", "xyz", "hsv", "yxy", "lch", "oklab", "oklch"):
        return _over_white(image.colourspace("srgb"))
    return _over_white(_to_uchar(image))


def _to_uchar(image: Image) -> Image:
    if image.format == "uchar":
        return image
    if image.format in ("ushort", "short"):
        return image.cast("ushort").cast("uchar", shift=True)
    if image.format in ("float", "double"):
        return (image * 255.0).rint().cast("uchar")
    return (image.cast("uint") >> 24).cast("uchar")


def _over_white(image: Image) -> Image:
    n_colours = 4 if image.interpretation == "cmyk" else 1 if image.bands < 3 else 3
    if image.bands == n_colours:
        return image
    paper = [0] * 4 if n_colours == 4 else [255] * n_colours
    # Beyond one alpha channel there are spot plates or masks, which belong to the press and not to the look.
    return image.extract_band(0, n=n_colours + 1).flatten(background=paper, max_alpha=255)


def to_srgb(image: Image, colour: Colour) -> Image:
    """Convert 8-bit device colours to sRGB (three bands), or leave grey as one band of sRGB's tone scale."""
    if colour.space == "LAB" or not colour.needs_conversion:
        return image.copy(interpretation="b-w" if image.bands == 1 else "srgb")
    tagged = image.copy(interpretation={"CMYK": "cmyk", "GREY": "b-w", "RGB": "srgb"}[colour.space])
    if colour.profile is not None:
        tagged.set_type(GValue.blob_type, _PROFILE, colour.profile)
    shown = tagged.icc_transform(
        "srgb",
        embedded=colour.profile is not None,
        input_profile="cmyk" if colour.space == "CMYK" else "srgb",
        intent="relative",
        black_point_compensation=True,
    )
    return shown[0].copy(interpretation="b-w") if colour.space == "GREY" else shown
