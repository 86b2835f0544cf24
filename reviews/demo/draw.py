"""Draw the demo book: which files there are, and painting one of them. Needs no database and no Django."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from PIL import Image, ImageCms
from psd_tools import PSDImage
from psd_tools.constants import Resource
from psd_tools.psd.image_resources import ImageResource, ResoulutionInfo

from reviews.demo import cover, journey, looks, openings, options, pencil, printed
from reviews.demo.endpapers import endpapers
from reviews.demo.marks import Scene

MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Commission:
    """One file of the demo. `option` counts the ideas of a piece from 1; it is 0 where there is only one picture."""

    piece: str
    stage: str
    version: int
    option: int
    file_name: str


DRAWN: dict[str, Callable[[int], Scene]] = {
    "cover": cover.whole,
    "2-3": lambda version: endpapers(),
    "4-5": openings.leaving_home,
    "6-7": openings.at_the_tarn,
    "8-9": openings.moon_in_the_pail,
    "10-11": journey.up_the_hill,
    "12-13": journey.old_heron,
    "14-15": journey.under_ferns,
    "16-17": journey.crossroads,
    "18-19": journey.toad_ferry,
    "30-31": lambda version: endpapers(closing=True),
}
SKETCHES = {
    "cover": 2,
    "2-3": 1,
    "4-5": 2,
    "6-7": 2,
    "8-9": 2,
    "10-11": 4,
    "12-13": 2,
    "14-15": 1,
    "16-17": 2,
    "18-19": 1,
    "30-31": 1,
}
# The approved sketch, but for 8-9, where the snail slid round the rim between sketch and line without anybody asking.
AS_FINISHED = {**SKETCHES, "8-9": 3}
LATER = (
    ("cover", "line"),
    ("4-5", "line"),
    ("6-7", "line"),
    ("8-9", "line"),
    ("12-13", "line"),
    ("12-13", "ink"),
    ("4-5", "colour"),
    ("6-7", "colour"),
    ("8-9", "colour"),
    ("cover", "colour"),
    ("6-7", "proof"),
    ("cover", "finish"),
)
WIDE = {
    "ideas": 3000,
    "sketch": 3600,
    "line": 5976,
    "ink": 4800,
    "flats": 5976,
    "colour": 5976,
    "finish": 3600,
    "proof": 6000,
}
ODD_WIDTHS = {
    ("8-9", "colour"): 7000,
    ("6-7", "colour"): 6600,
    ("4-5", "line"): 6600,
    ("cover", "sketch"): 3600,
    ("cover", "line"): 6549,
    ("cover", "colour"): 6549,
    ("cover", "finish"): 6549,
}
ENDINGS = {("4-5", "colour"): "tif", ("cover", "colour"): "psd", ("12-13", "ink"): "png", ("cover", "finish"): "png"}


def commissions() -> list[Commission]:
    """Return everything the demo needs, in telling order: ideas, sketches round by round, then the later stages."""
    ideas = [
        _commission(piece, "ideas", 1, number)
        for piece, ways in options.IDEAS.items()
        for number in range(1, len(ways) + 1)
    ]
    sketches = [
        _commission(piece, "sketch", version, 0)
        for version in range(1, 5)
        for piece, last in SKETCHES.items()
        if version <= last
    ]
    return ideas + sketches + [_commission(piece, stage, 1, 0) for piece, stage in LATER]


def _commission(piece: str, stage: str, version: int, option: int) -> Commission:
    ending = ENDINGS.get((piece, stage), "jpg")
    where = piece if piece == "cover" else "p" + "-".join(f"{int(page):02d}" for page in piece.split("-"))
    what = {
        "ideas": f"idea-{option}",
        "sketch": f"sketch-v{version}",
        "line": f"line-v{version}",
        "ink": "ink scan",
        "colour": f"COLOUR-v{version}",
        "finish": "foil plate K100",
        "proof": "printer proof 1",
    }[stage]
    return Commission(piece, stage, version, option, f"tansy_{where}_{what}.{ending}")


def scene_of(commission: Commission) -> Scene:
    """Return what a commission shows."""
    if commission.stage == "ideas":
        return options.IDEAS[commission.piece][commission.option - 1]()
    version = commission.version if commission.stage == "sketch" else AS_FINISHED[commission.piece]
    return DRAWN[commission.piece](version)


def paint(commission: Commission, folder: Path) -> Path:
    """Draw one file into a folder. The same commission gives the same bytes."""
    scene = scene_of(commission)
    wide = ODD_WIDTHS.get((commission.piece, commission.stage), WIDE[commission.stage])
    seed = f"{commission.piece}|{commission.stage}|{commission.version}|{commission.option}"
    path = folder / commission.file_name
    if path.suffix == ".psd":
        _write_psd(looks.colour(scene, wide, seed), path, wide / scene.width * MM_PER_INCH)
        return path
    look = {
        "ideas": pencil.idea,
        "sketch": pencil.sketch,
        "line": looks.line,
        "ink": printed.scan,
        "flats": looks.flat,
        "colour": looks.colour,
        "finish": printed.foil,
        "proof": printed.proof,
    }[commission.stage]
    picture = (
        look(scene, wide, seed) if commission.stage != "ideas" else pencil.idea(scene, wide, seed, commission.option)
    )
    across = scene.width + (2 * printed.MARGIN_MM if commission.stage == "proof" else 0)
    _write(picture, path, wide / across * MM_PER_INCH)
    return path


def _write(picture: np.ndarray, path: Path, ppi: float) -> None:
    image = Image.fromarray(picture)
    resolution = (round(ppi), round(ppi))
    if path.suffix == ".tif":
        image.save(path, compression="tiff_lzw", dpi=resolution, icc_profile=srgb(), tiffinfo={317: 2})
    elif path.suffix == ".png":
        image.save(path, compress_level=1, dpi=resolution, icc_profile=srgb() if image.mode == "RGB" else None)
    else:
        image.save(path, quality=88, dpi=resolution, icc_profile=srgb())


def _write_psd(picture: np.ndarray, path: Path, ppi: float) -> None:
    """Write one merged picture; layers would cost five seconds more, which the demo cannot spare."""
    document = PSDImage.frompil(Image.fromarray(picture))
    fixed = round(ppi) << 16  # sixteen binary places, as the format has it
    size = ResoulutionInfo(
        horizontal=fixed, horizontal_unit=1, width_unit=1, vertical=fixed, vertical_unit=1, height_unit=1
    )
    document.image_resources[Resource.RESOLUTION_INFO] = ImageResource(key=Resource.RESOLUTION_INFO, data=size)
    document.image_resources[Resource.ICC_PROFILE] = ImageResource(key=Resource.ICC_PROFILE, data=srgb())
    document.save(path)


@lru_cache(maxsize=1)
def srgb() -> bytes:
    """Return an sRGB profile; the date the library stamps into it is blanked, so that files come out the same."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = bytes.fromhex("07e8 0001 0001 0000 0000 0000".replace(" ", ""))
    return bytes(profile)
