"""The frozen answers of the picture engine; each names the method that made it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Literal

# Part of every rendition's storage path. Raise it whenever the same original would give other pixels or
# another layout, so that old and new renditions never mix.
METHOD = "opening-2"

PREVIEW_NAME = "preview.jpg"
THUMB_NAME = "thumb.jpg"
PYRAMID_NAME = "pyramid.zip"
INDEX_NAME = "pyramid.json"
# In the order they are kept: the index last, so that whoever finds it finds the pyramid it describes.
RENDITION_NAMES = (PREVIEW_NAME, THUMB_NAME, PYRAMID_NAME, INDEX_NAME)
# Made later than those for pictures of before, so nothing waits for it and nothing is missed without it.
MINI_NAME = "mini.jpg"
# One for each spot plate; only files that have any have these.
MOST_PLATES = 8
PLATE_NAMES = tuple(f"plate-{n}.png" for n in range(1, MOST_PLATES + 1))
PREVIEW_PX = 2048
THUMB_PX = 480
MINI_PX = 240


def fitted(width_px: int, height_px: int, longest_px: int) -> tuple[int, int]:
    """The size of a picture made to fit a square; never enlarged, never under one pixel."""
    scale = min(1.0, longest_px / max(width_px, height_px))
    return max(1, round(width_px * scale)), max(1, round(height_px * scale))


PictureKind = Literal["JPEG", "PNG", "TIFF", "WebP", "AVIF", "HEIC", "PSD", "PSB", "PDF"]
ColourSpace = Literal["RGB", "GREY", "CMYK", "LAB"]
RefusalCode = Literal[
    "not-found",
    "empty",
    "not-a-picture",
    "unsupported-kind",
    "no-merged-picture",
    "too-large",
    "too-many-pixels",
    "too-many-pages",
    "no-such-page",
    "truncated",
    "damaged",
    "locked",
    "took-too-long",
    "too-much-memory",
    "unreadable",
    "sheet-too-large",
    "too-large-together",
    "one-sheet",
    "different-sizes",
    "no-overlap",
    "not-a-scan",
    "no-pencil",
    "no-ink",
    "points-at-paper",
    "points-at-ink",
]
# "" where it is not known, or none was found; "pointed" where somebody points at a stroke of it.
PencilName = Literal["orange", "red", "blue", "pointed", ""]
# What colours are taken for where a file carries no profile, or one that does not fit them; a PDF is drawn as sRGB.
# "stated": a PNG without a profile states its gamma and primaries. "floating…", "signed…": numbers whose black or white
# has to be assumed.
AssumedProfile = Literal[
    "rgb",
    "grey",
    "cmyk",
    "rgb-misfit",
    "grey-misfit",
    "cmyk-misfit",
    "pdf",
    "stated",
    "floating",
    "floating-profile",
    "signed",
    "signed-profile",
]


@dataclass(frozen=True)
class Refusal:
    """A file that was not taken: a code, and the values that belong into its sentence.

    One code may have several causes; then ``how`` among the values tells them apart.
    """

    code: RefusalCode
    values: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class SpotPlate:
    """A channel beyond the colours and the transparency, as the file names it ("" where it does not).

    ``channel`` counts the extra channels from 0. ``colour`` is sRGB as #rrggbb, "" where none is stated; ``is_spot``
    is None where the file does not say whether it is an ink or a mask.
    """

    name: str
    channel: int
    colour: str
    is_spot: bool | None


@dataclass(frozen=True)
class PageBox:
    """One box of a PDF page (trim, bleed, …) in mm from the page's lower left corner."""

    name: str
    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float


@dataclass(frozen=True, kw_only=True)
class PictureFacts:
    """What a file says about itself.

    `width_px` and `height_px` are those of the picture as it is looked at, after the turn that `orientation`
    (EXIF 1 to 8) asks for. `ppi_x` and `ppi_y` are None where the file states no resolution.
    `assumed_profile` is None when an embedded profile was used and says all; otherwise what its colours are taken for.
    A PDF tells its boxes before the page is turned, clockwise, by `page_turn` degrees.
    """

    kind: PictureKind
    width_px: int
    height_px: int
    mode: str
    bits: int
    n_pages: int
    ppi_x: float | None
    ppi_y: float | None
    profile_name: str
    orientation: int
    assumed_profile: AssumedProfile | None
    layer_names: tuple[str, ...] = ()
    page_boxes: tuple[PageBox, ...] = ()
    page_turn: int = 0
    plates: tuple[SpotPlate, ...] = ()
    page: int = 0
    n_bytes: int = 0
    method: str = METHOD


@dataclass(frozen=True)
class PyramidFacts:
    """The shape of a tile pyramid: IIIF Image API 3, level 0, square tiles, stored in one uncompressed ZIP."""

    width_px: int
    height_px: int
    tile_px: int
    scale_factors: tuple[int, ...]
    n_tiles: int


@dataclass(frozen=True)
class TileSpan:
    """Where one tile lies inside the stored pyramid, in bytes."""

    offset: int
    length: int


@dataclass(frozen=True, kw_only=True)
class Renditions:
    """What `make_renditions` left in a folder."""

    facts: PictureFacts
    pyramid: PyramidFacts
    preview: Path
    thumb: Path
    pyramid_file: Path
    index_file: Path
    #: The colours it is mostly made of, dark to light, each with its share (``tiles.palette``).
    colours: tuple[tuple[str, float], ...]
    cpu_seconds: float
    peak_bytes: int
    method: str = METHOD

    def kept_facts(self) -> dict[str, Any]:
        """Give what is kept with a picture of what was read in its file, as plain data."""
        pyramid = {"scale_factors": list(self.pyramid.scale_factors), "tile_px": self.pyramid.tile_px}
        return asdict(self.facts) | pyramid | {"colours": [list(colour) for colour in self.colours]}
