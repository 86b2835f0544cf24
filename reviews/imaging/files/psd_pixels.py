"""The pixels of a PSD: its merged picture as it is meant, and its spot plates. Runs inside the confined child only."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from reviews.imaging._vips import Image
from reviews.imaging.files import floating, psd
from reviews.imaging.results import Refusal

_ROUNDED = 0.012  # of full: three levels of 255, which saving and packing may be off by


def merged(path: Path, header: psd.PsdHeader, scratch: Path) -> Any:
    """Give the merged picture as a sequential image in its own colour space, ink as other formats have it."""
    shell = scratch / "merged.tif"
    psd.write_merged(path, header, shell)
    # The library closes the file between header and pixels and opens it again by name: the name must stay.
    image = Image.tiffload(str(shell), access="sequential", fail_on="error")
    if header.n_shown > psd.N_COLOURS[header.space] and _stands_on_white(shell, header):
        image = image.extract_band(0, n=psd.N_COLOURS[header.space]).copy(interpretation=image.interpretation)
    if header.bits == 32 and header.space in ("RGB", "GREY"):
        return floating.shown(image, header.space, header.profile)
    if header.space == "CMYK":
        ink = image.extract_band(0, n=4).invert()
        return (ink if image.bands == 4 else ink.bandjoin(image[4])).copy(interpretation="cmyk")
    if header.space == "LAB":
        full = 255.0 if header.bits == 8 else 65535.0
        step, middle = (1.0, 128.0) if header.bits == 8 else (256.0, 128.0)
        return image.linear([100 / full, 1 / step, 1 / step], [0, -middle, -middle]).copy(interpretation="lab")
    return image


def _stands_on_white(shell: Path, header: psd.PsdHeader) -> bool:
    """Whether the merged colours were laid over white by whoever saved them: then their transparency is spent.

    Over white no colour can be darker than what the paper adds, full less the transparency. Colours that stand free of
    it are, somewhere, unless nothing is half clear at all; and then both ways show the same.
    """
    image = Image.tiffload(str(shell), access="sequential", fail_on="error")
    full = {8: 255.0, 16: 65535.0, 32: 1.0}[header.bits]
    n_colours = psd.N_COLOURS[header.space]
    darkest = image.extract_band(0, n=n_colours).cast("double") + image[n_colours].cast("double")
    return bool(darkest.min() >= full * (1 - _ROUNDED))


def plate(path: Path, extra: int, scratch: Path) -> Any:
    """Give one channel beyond the colours as a sequential grey image; `extra` counts those from 0."""
    header = psd.read_header(path)
    if isinstance(header, Refusal):
        raise psd.Broken
    shell = scratch / f"plate-{extra}.tif"
    psd.write_channel(path, header, psd.N_COLOURS[header.space] + extra, shell)
    return Image.tiffload(str(shell), access="sequential", fail_on="error")
