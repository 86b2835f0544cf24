"""Small picture files of every kind the door takes, with the colours that must come out of them."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pillow_heif
import pyvips
from numpy.typing import NDArray
from PIL import Image, ImageCms

from tests.imaging.avif_grids import avif_grid

SIZE = (640, 400)
# Four flat quarters, clockwise from the top left: enough to see a turn, a mirror image or a swapped channel.
QUARTERS = ((200, 40, 40), (40, 160, 60), (50, 70, 190), (230, 220, 120))


def quarters(size: tuple[int, int] = SIZE) -> Image.Image:
    width, height = size
    picture = Image.new("RGB", size)
    for shade, corner in zip(
        QUARTERS, ((0, 0), (width // 2, 0), (width // 2, height // 2), (0, height // 2)), strict=True
    ):
        picture.paste(shade, (*corner, corner[0] + width // 2, corner[1] + height // 2))
    return picture


def shades_of(rgb: NDArray[np.uint8]) -> list[tuple[int, ...]]:
    """Read the four quarters' colours at their middles, clockwise from the top left."""
    rows, columns = rgb.shape[:2]
    places = ((1, 1), (1, 3), (3, 3), (3, 1))
    return [tuple(int(v) for v in rgb[rows * r // 4, columns * c // 4]) for r, c in places]


def far_from(
    found: list[tuple[int, ...]], wanted: list[tuple[int, ...]] | tuple[tuple[int, ...], ...] = QUARTERS
) -> int:
    """The largest difference in any channel of any quarter."""
    return max(abs(a - b) for one, two in zip(found, wanted, strict=True) for a, b in zip(one, two, strict=True))


def vips_quarters() -> pyvips.Image:
    return pyvips.Image.new_from_array(np.asarray(quarters())).copy(
        interpretation="srgb", xres=300 / 25.4, yres=300 / 25.4
    )


def _pil(kind: str, **options: object) -> Callable[[Path], None]:
    return lambda path: quarters().save(path, kind, **options)


def _tiff(**options: object) -> Callable[[Path], None]:
    return lambda path: vips_quarters().tiffsave(str(path), **options)


def _deep(path: Path) -> None:
    (vips_quarters().cast("ushort") * 257).cast("ushort").copy(interpretation="rgb16").tiffsave(
        str(path), compression="lzw"
    )


def _very_deep(path: Path) -> None:
    (vips_quarters().cast("uint") * 0x01010101).cast("uint").tiffsave(str(path), compression="deflate")


def _deep_png(path: Path) -> None:
    (vips_quarters().cast("ushort") * 257).cast("ushort").copy(interpretation="rgb16").pngsave(str(path))


def _lab(path: Path) -> None:
    lab_quarters().tiffsave(str(path), compression="lzw")


def _lab_coded(path: Path, bits: int) -> None:
    """Lab as drawing programs write it: whole numbers, a and b signed. The library cannot; so its RGB is relabelled."""
    lab = lab_quarters().numpy().astype(float)
    full = (1 << bits) - 1
    coded = np.dstack([lab[..., :1] * full / 100, lab[..., 1:] * ((full + 1) / 256)]).round().astype(np.int64) & full
    plain = pyvips.Image.new_from_array(coded.astype(np.uint8 if bits == 8 else np.uint16))
    plain = plain.copy(interpretation="srgb" if bits == 8 else "rgb16")
    data = bytearray(plain.tiffsave_buffer(compression="lzw"))
    rgb, lab_tag = struct.pack("<HHIH", 262, 3, 1, 2), struct.pack("<HHIH", 262, 3, 1, 8)
    assert data.count(rgb) == 1
    path.write_bytes(data.replace(rgb, lab_tag))


def lab_quarters() -> pyvips.Image:
    """The quarters in Lab as TIFF and PSD mean it: relative to D50."""
    return vips_quarters().icc_import(input_profile="srgb", intent="relative", pcs="lab")


def _big_endian(path: Path) -> None:
    """A TIFF in the other byte order, written here by hand: 8-bit RGB in one strip."""
    width, height = SIZE
    pixels = quarters().tobytes()
    at = 8 + len(pixels)
    entries = [
        (256, 3, 1, width << 16),
        (257, 3, 1, height << 16),
        (258, 3, 3, at + 2 + 10 * 12 + 4),
        (259, 3, 1, 1 << 16),
        (262, 3, 1, 2 << 16),
        (273, 4, 1, 8),
        (277, 3, 1, 3 << 16),
        (278, 4, 1, height),
        (279, 4, 1, len(pixels)),
        (284, 3, 1, 1 << 16),
    ]
    directory = struct.pack(">H", len(entries)) + b"".join(struct.pack(">HHII", *entry) for entry in entries)
    path.write_bytes(struct.pack(">2sHI", b"MM", 42, at) + pixels + directory + struct.pack(">IHHH", 0, 8, 8, 8))


def packbits(row: bytes) -> bytes:
    """Pack a row as PackBits: repeats as repeats, the rest in literal runs."""
    out, at = bytearray(), 0
    while at < len(row):
        run = 1
        while at + run < len(row) and row[at + run] == row[at] and run < 128:
            run += 1
        if run > 1:
            out += bytes((257 - run, row[at]))
            at += run
            continue
        start = at
        while at < len(row) and at - start < 128 and not (at + 1 < len(row) and row[at] == row[at + 1]):
            at += 1
        out += bytes((at - start - 1,)) + row[start:at]
    return bytes(out)


def psd_bytes(
    planes: NDArray[np.uint8] | NDArray[np.uint16],
    mode: int,
    *,
    big: bool = False,
    compression: int = 1,
    resources: bytes = b"",
    layers: bytes = b"",
    palette: bytes = b"",
) -> bytes:
    """Write a PSD or PSB by the published layout; `planes` is (channels, rows, columns)."""
    channels, height, width = planes.shape
    head = struct.pack(">4sH6sHIIHH", b"8BPS", 2 if big else 1, b"", channels, height, width, planes.itemsize * 8, mode)
    length = ">Q" if big else ">I"
    body = struct.pack(">I", len(palette)) + palette + struct.pack(">I", len(resources)) + resources
    body += struct.pack(length, len(layers)) + layers + struct.pack(">H", compression)
    rows = [row.astype(row.dtype.newbyteorder(">")).tobytes() for plane in planes for row in plane]
    if compression == 1:
        packed = [packbits(row) for row in rows]
        table = struct.pack(f">{len(packed)}{'I' if big else 'H'}", *(len(row) for row in packed))
        return head + body + table + b"".join(packed)
    return head + body + b"".join(rows)


def resource(number: int, data: bytes) -> bytes:
    return b"8BIM" + struct.pack(">H2sI", number, b"", len(data)) + data + b"\0" * (len(data) % 2)


def rgb_planes() -> NDArray[np.uint8]:
    return np.ascontiguousarray(np.asarray(quarters()).transpose(2, 0, 1))


def _psd(**options: object) -> Callable[[Path], None]:
    return lambda path: path.write_bytes(psd_bytes(rgb_planes(), 3, **options))  # type: ignore[arg-type]


def _psd_deep(path: Path) -> None:
    path.write_bytes(psd_bytes(rgb_planes().astype(np.uint16) * 257, 3))


def _pdf(path: Path) -> None:
    quarters().save(path, "PDF", resolution=150)


def _avif_grid(path: Path) -> None:
    path.write_bytes(avif_grid(quarters(), 2, 2, whole_last=True))


def _heic(path: Path) -> None:
    pillow_heif.from_pillow(quarters()).save(path, quality=95, chroma=444)


def srgb_profile() -> bytes:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def _with_profile(path: Path) -> None:
    quarters().save(path, "JPEG", quality=95, icc_profile=srgb_profile())


# Name of a form -> (kind the door must find, how far a colour may be off, how it is written).
ALLOWED: dict[str, tuple[str, int, Callable[[Path], None]]] = {
    "JPEG": ("JPEG", 4, _pil("JPEG", quality=95)),
    "JPEG progressive": ("JPEG", 4, _pil("JPEG", quality=95, progressive=True)),
    "JPEG with sRGB profile": ("JPEG", 4, _with_profile),
    "PNG": ("PNG", 0, _pil("PNG")),
    "PNG 16-bit": ("PNG", 0, _deep_png),
    "WebP": ("WebP", 0, _pil("WEBP", lossless=True)),
    "HEIC": ("HEIC", 6, _heic),
    "AVIF": ("AVIF", 6, _pil("AVIF", quality=95)),
    "AVIF grid": ("AVIF", 6, _avif_grid),
    "TIFF uncompressed": ("TIFF", 0, _tiff(compression="none")),
    "TIFF LZW": ("TIFF", 0, _tiff(compression="lzw")),
    "TIFF ZIP": ("TIFF", 0, _tiff(compression="deflate")),
    "TIFF JPEG": ("TIFF", 8, _tiff(compression="jpeg", Q=95)),
    "TIFF tiled": ("TIFF", 0, _tiff(compression="lzw", tile=True, tile_width=128, tile_height=128)),
    "TIFF BigTIFF": ("TIFF", 0, _tiff(compression="lzw", bigtiff=True)),
    "TIFF big-endian": ("TIFF", 0, _big_endian),
    "TIFF 16-bit": ("TIFF", 0, _deep),
    "TIFF Lab": ("TIFF", 6, _lab),
    "TIFF Lab 8-bit": ("TIFF", 6, lambda path: _lab_coded(path, 8)),
    "TIFF Lab 16-bit": ("TIFF", 2, lambda path: _lab_coded(path, 16)),
    "TIFF 32-bit": ("TIFF", 0, _very_deep),
    "PSD packed": ("PSD", 0, _psd()),
    "PSD raw": ("PSD", 0, _psd(compression=0)),
    "PSD 16-bit": ("PSD", 0, _psd_deep),
    "PSB": ("PSB", 0, _psd(big=True)),
    "PDF": ("PDF", 6, _pdf),
}


def jpeg_bytes(size: tuple[int, int] = SIZE, **options: object) -> bytes:
    out = io.BytesIO()
    quarters(size).save(out, "JPEG", quality=90, **options)
    return out.getvalue()


GAMMA_1 = (b"gAMA", struct.pack(">I", 100_000))  # as a PNG states linear light


def png_stating(path: Path, picture: Image.Image, *chunks: tuple[bytes, bytes]) -> Path:
    """Save a picture as a PNG with these chunks behind its header."""
    held = io.BytesIO()
    picture.save(held, "PNG")
    data, more = held.getvalue(), b""
    for name, body in chunks:
        more += struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
    path.write_bytes(data[:33] + more + data[33:])
    return path
