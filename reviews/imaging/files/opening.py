"""From an untrusted file to checked facts and pixels. Runs inside the confined child only.

Facts come from headers; every limit is checked on them before a pixel is decoded.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from reviews.imaging._vips import GValue, Image
from reviews.imaging.files import (
    colour,
    floating,
    heic,
    heif_items,
    kinds,
    pdf,
    png_colour,
    psd,
    psd_pixels,
    signed,
)
from reviews.imaging.files.tiff_pages import TiffPage, n_colours
from reviews.imaging.limits import Limits, pages_refusal, size_refusal
from reviews.imaging.results import AssumedProfile, ColourSpace, PictureFacts, PictureKind, Refusal, SpotPlate

_LOADERS: dict[PictureKind, Callable[..., Any]] = {
    "JPEG": Image.jpegload,
    "PNG": Image.pngload,
    "WebP": Image.webpload,
    "AVIF": Image.heifload,
}
_PAGED = {"TIFF", "WebP", "AVIF"}
_SPACES: dict[str, ColourSpace] = {"cmyk": "CMYK", "lab": "LAB", "labs": "LAB", "labq": "LAB"}
_BITS = {"uchar": 8, "char": 8, "ushort": 16, "short": 16, "uint": 32, "int": 32, "float": 32, "double": 64}
_PROFILE = "icc-profile-data"
# What the library gives, in px/mm, where a file states no resolution: 25.4 ppi, which nobody scans at, for most kinds;
# 71.98 for PNG, which is not quite the 72.009 that a PNG stating 72 has; and exactly 72 for JPEG, see below.
_UNSTATED_PX_PER_MM = (1.0, 2.834)
_UNSTATED_JPEG = 72 / 25.4
_MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Opened:
    """A file that passed the door: its facts, how its colours are read, and a way to its pixels.

    `pixels()` gives a sequential image in the file's own colour space and direction; it can be read once per call.
    """

    facts: PictureFacts
    colour: colour.Colour
    pixels: Callable[[], Any]


def open_picture(
    path: Path,
    limits: Limits,
    scratch: Path,
    *,
    page: int = 0,
    ppi: float | None = None,
    is_strict: bool = True,
) -> Opened | Refusal:
    """Open a file by its content and check it against the limits.

    Raises the library's Error, or `psd.Broken`, for damage; `refusing.refusal_for` makes a refusal of either. A strict
    reading raises for all that a decoder of JPEG only warns of; `refusing.is_harmless` tells what of it is nothing.
    """
    n_bytes = path.stat().st_size
    if n_bytes > limits.max_bytes:
        return Refusal("too-large", {"n_bytes": n_bytes, "most_bytes": limits.max_bytes})
    kind = kind_at(path)
    if isinstance(kind, Refusal):
        return kind
    if kind in ("PSD", "PSB"):
        opened = _open_psd(path, kind, limits, scratch)
    elif kind == "HEIC":
        opened = _open_heic(path, limits, page)
    elif kind == "PDF":
        opened = _open_pdf(path, limits, page, ppi)
    else:
        opened = _open_plain(path, kind, limits, page, scratch, is_strict=is_strict)
    if isinstance(opened, Refusal):
        return opened
    return replace(opened, facts=replace(opened.facts, n_bytes=n_bytes))


def kind_at(path: Path) -> PictureKind | Refusal:
    """Tell a file's kind from its first bytes."""
    with path.open("rb") as file:
        return kinds.kind_of(file.read(kinds.HEAD_BYTES))


def _open_plain(
    path: Path, kind: PictureKind, limits: Limits, page: int, scratch: Path, *, is_strict: bool
) -> Opened | Refusal:
    tiff = TiffPage(path, page, scratch, is_strict) if kind == "TIFF" else None
    if page and kind not in _PAGED:
        return Refusal("no-such-page", {"how": "single-picture", "kind": kind, "page": page + 1})

    listed = _listed(path, kind, is_strict)
    if listed and page >= len(listed):
        return Refusal("no-such-page", {"how": "container", "kind": kind, "page": page + 1})
    at = listed[page] if listed else page

    def loaded() -> Any:
        return tiff.colours() if tiff else _load(path, kind, at, is_strict)

    image = tiff.header() if tiff else loaded()
    n_pages = len(listed) or int(_field(image, "n-pages", 1)) - (tiff.n_further if tiff else 0)
    refused = size_refusal(image.width, image.height, limits) or pages_refusal(n_pages, limits)
    if refused is not None:
        return refused
    read_as = _as_stated(image, path, kind)
    orientation, (width, height), ppi = _as_looked_at(image)
    facts = PictureFacts(
        kind=kind,
        width_px=width,
        height_px=height,
        mode=_mode(image),
        bits=(tiff and tiff.bits) or _bits(image),
        n_pages=n_pages,
        ppi_x=ppi[0],
        ppi_y=ppi[1],
        profile_name=read_as.profile_name,
        orientation=orientation,
        assumed_profile=read_as.assumed,
        plates=tiff.plates if tiff else (),
        page=page,
    )
    return _opened(facts, read_as, loaded, is_floating=floating.is_floating(image))


def _as_looked_at(image: Any) -> tuple[int, tuple[int, int], tuple[float | None, float | None]]:
    """Give the turn that is asked for (EXIF 1 to 8), and size and resolution once it is done."""
    orientation = int(_field(image, "orientation", 1))
    size, ppi = (image.width, image.height), _stated_ppi(image)
    if orientation >= 5:
        size, ppi = size[::-1], ppi[::-1]
    return orientation if 1 <= orientation <= 8 else 1, size, ppi


def _listed(path: Path, kind: PictureKind, is_strict: bool) -> tuple[int, ...]:
    """Return where in an AVIF its pictures stand, the primary one first; nothing for all other kinds."""
    if kind != "AVIF":
        return ()
    return heif_items.pictures_in(path, int(_field(_load(path, kind, 0, is_strict), "n-pages", 1)))


def _opened(facts: PictureFacts, read_as: colour.Colour, loaded: Callable[[], Any], *, is_floating: bool) -> Opened:
    if read_as.assumed == "stated":
        # What is made from the picture, turned or cut, must carry along what only a chunk of the file states.
        return Opened(facts, read_as, lambda: _with_profile(loaded(), read_as.profile))
    if not is_floating:
        return Opened(facts, read_as, loaded)
    # These are brought to sRGB where they are read; to say so again would code them twice.
    bare = replace(read_as, profile=None)
    return Opened(facts, bare, lambda: floating.shown(loaded(), read_as.space, read_as.profile))


def _with_profile(image: Any, profile: bytes | None) -> Any:
    out = image.copy()
    out.set_type(GValue.blob_type, _PROFILE, profile)
    return out


def _as_stated(image: Any, path: Path, kind: PictureKind) -> colour.Colour:
    """Decide how colours are read, also by what a PNG states without a profile and what floating numbers leave open."""
    read_as = colour.reading_of(_space(image), _field(image, _PROFILE, None))
    if kind == "PNG" and read_as.assumed in ("rgb", "grey"):
        profile = png_colour.stated_profile(path, is_grey=read_as.space == "GREY")
        if profile is not None:
            read_as = replace(read_as, profile=profile, assumed="stated")
    if floating.is_floating(image):
        read_as = replace(read_as, assumed="floating-profile" if read_as.profile else "floating")
    elif signed.is_signed(image):
        read_as = replace(read_as, assumed="signed-profile" if read_as.profile else "signed")
    return read_as


def _load(path: Path, kind: PictureKind, page: int, is_strict: bool = True) -> Any:
    options = {"page": page} if kind in _PAGED else {}
    # Where the data of a JPEG are damaged its decoder only warns, and goes on with grey or with shifted blocks.
    fail_on = "warning" if kind == "JPEG" and is_strict else "error"
    return _LOADERS[kind](str(path), access="sequential", fail_on=fail_on, **options)


def plate_pixels(path: Path, facts: PictureFacts, plate: SpotPlate, scratch: Path) -> Any:
    """Give one plate of an opened picture as a sequential grey image in the file's own direction."""
    if facts.kind == "TIFF":
        return TiffPage(path, facts.page, scratch).plate(plate.channel)
    return psd_pixels.plate(path, plate.channel, scratch)


def _field(image: Any, name: str, otherwise: Any) -> Any:
    return image.get(name) if image.get_typeof(name) else otherwise


def _space(image: Any) -> ColourSpace:
    return _SPACES.get(image.interpretation) or ("GREY" if image.bands < 3 else "RGB")


def _mode(image: Any) -> str:
    space = _space(image)
    if space == "GREY" and _field(image, "bits-per-sample", 8) == 1:
        return "BILEVEL"
    return space + ("A" if image.bands > n_colours(image) else "")


def _bits(image: Any) -> int:
    return int(_field(image, "bits-per-sample", _BITS.get(image.format, 8)))


def _stated_ppi(image: Any) -> tuple[float | None, float | None]:
    if image.xres in _UNSTATED_PX_PER_MM and image.yres in _UNSTATED_PX_PER_MM:
        return None, None
    # A JPEG that really says 72 also says in which unit.
    if abs(image.xres - _UNSTATED_JPEG) < 1e-9 and not image.get_typeof("resolution-unit"):
        return None, None
    across, down = (round(res * _MM_PER_INCH, 2) for res in (image.xres, image.yres))
    return (across, down) if 1 <= across <= 20_000 and 1 <= down <= 20_000 else (None, None)


def _open_psd(path: Path, kind: PictureKind, limits: Limits, scratch: Path) -> Opened | Refusal:
    header = psd.read_header(path)
    if isinstance(header, Refusal):
        return header
    refused = size_refusal(header.width_px, header.height_px, limits)
    if refused is not None:
        return refused
    if not header.has_merged:
        return psd.NO_MERGED
    read_as = colour.reading_of(psd.SHOWN_AS[header.space], header.profile)
    clear = "A" if header.n_shown > psd.N_COLOURS[header.space] else ""
    ppi_x, ppi_y = header.ppi or (None, None)
    facts = PictureFacts(
        kind=kind,
        width_px=header.width_px,
        height_px=header.height_px,
        mode=header.space + clear,
        bits=header.bits,
        n_pages=1,
        ppi_x=ppi_x,
        ppi_y=ppi_y,
        profile_name=read_as.profile_name,
        orientation=1,
        assumed_profile=read_as.assumed,
        layer_names=header.layers.names,
        plates=header.plates,
    )
    if header.bits == 32 and header.space in ("RGB", "GREY"):
        # These are brought to sRGB where they are read; to say so again would code them twice.
        how: AssumedProfile = "floating-profile" if floating.fitting(header.profile, header.space) else "floating"
        read_as, facts = replace(read_as, profile=None), replace(facts, assumed_profile=how)
    return Opened(facts, read_as, lambda: psd_pixels.merged(path, header, scratch))


def _open_heic(path: Path, limits: Limits, page: int) -> Opened | Refusal:
    header = heic.read_header(path, page)
    if header is None:
        return Refusal("no-such-page", {"how": "container", "kind": "HEIC", "page": page + 1})
    refused = size_refusal(header.width_px, header.height_px, limits) or pages_refusal(header.n_pages, limits)
    if refused is not None:
        return refused
    read_as = colour.reading_of("GREY" if header.mode.startswith("GREY") else "RGB", header.profile)
    facts = PictureFacts(
        kind="HEIC",
        width_px=header.width_px,
        height_px=header.height_px,
        mode=header.mode,
        bits=header.bits,
        n_pages=header.n_pages,
        ppi_x=None,
        ppi_y=None,
        profile_name=read_as.profile_name,
        orientation=1,
        assumed_profile=read_as.assumed,
        page=page,
    )
    return Opened(facts, read_as, lambda: _heic_pixels(path, page))


def _heic_pixels(path: Path, page: int) -> Any:
    pixels = heic.read_pixels(path, page)
    rows, columns, bands = pixels.shape
    image = Image.new_from_memory(pixels.data, columns, rows, bands, "uchar")
    return image.copy(interpretation="b-w" if bands < 3 else "srgb")


def _open_pdf(path: Path, limits: Limits, page: int, ppi: float | None) -> Opened | Refusal:
    file = pdf.open_pdf(path)
    if isinstance(file, Refusal):
        return file
    with file:
        measured = file.page(page, ppi)
    if isinstance(measured, Refusal):
        return measured
    refused = size_refusal(measured.width_px, measured.height_px, limits) or pages_refusal(measured.n_pages, limits)
    if refused is not None:
        return refused
    facts = PictureFacts(
        kind="PDF",
        width_px=measured.width_px,
        height_px=measured.height_px,
        mode="RGB",
        bits=8,
        n_pages=measured.n_pages,
        ppi_x=measured.ppi,
        ppi_y=measured.ppi,
        profile_name="",
        orientation=1,
        assumed_profile="pdf",
        page_boxes=measured.boxes,
        page_turn=measured.turn,
        page=page,
    )
    read_as = colour.Colour("RGB", None, "", facts.assumed_profile)
    return Opened(facts, read_as, lambda: _pdf_pixels(path, page, measured))


def _pdf_pixels(path: Path, page: int, measured: pdf.PdfPage) -> Any:
    file = pdf.open_pdf(path)
    if isinstance(file, Refusal):
        raise pdf.PdfError("the page could not be drawn")
    with file:
        drawn = file.draw(page, measured)
    image = Image.new_from_memory(drawn, measured.width_px, measured.height_px, 4, "uchar")
    return image.extract_band(0, n=3).copy(interpretation="srgb")
