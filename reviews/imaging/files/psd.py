"""Read the merged picture and the layer names of a PSD or PSB, in memory that does not grow with the picture.

Only headers are parsed here. The merged picture is handed on as a TIFF (see `tiff_shell.py`): its rows are copied
as they are, and the picture library unpacks them strip by strip. By hand for memory's sake: psd-tools and Pillow hold
the whole merged picture, and the one reads every layer too. Layout after Adobe's published description of the
format, from memory; checked against psd-tools over files that it writes, and against Pillow. Standard library only.
"""

from __future__ import annotations

import os
import shutil
import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from reviews.imaging.files import spot_plates, tiff_shell
from reviews.imaging.results import ColourSpace, Refusal, SpotPlate

SPACES = {0: "BILEVEL", 1: "GREY", 2: "INDEXED", 3: "RGB", 4: "CMYK", 8: "GREY", 9: "LAB"}
N_COLOURS = {"BILEVEL": 1, "GREY": 1, "INDEXED": 1, "RGB": 3, "CMYK": 4, "LAB": 3}
# Bilevel is grey with one bit, and an index stands for a colour.
SHOWN_AS: dict[str, ColourSpace] = {
    "BILEVEL": "GREY",
    "GREY": "GREY",
    "INDEXED": "RGB",
    "RGB": "RGB",
    "CMYK": "CMYK",
    "LAB": "LAB",
}
MAX_LAYERS = 2000
_RESOLUTION, _PROFILE, _VERSION_INFO = 1005, 1039, 1057
_WANTED = {_RESOLUTION, _PROFILE, _VERSION_INFO, *spot_plates.RESOURCES}
# Blocks whose length takes eight bytes in a PSB.
_WIDE_BLOCKS = (
    b"LMsk",
    b"Lr16",
    b"Lr32",
    b"Layr",
    b"Mt16",
    b"Mt32",
    b"Mtrn",
    b"Alph",
    b"FMsk",
    b"lnk2",
    b"FEid",
    b"FXid",
    b"PxSD",
)
_GROUP_END = "</Layer group>"
NO_MERGED = Refusal("no-merged-picture")
UNSUPPORTED = Refusal("unsupported-kind", {"how": "merged-picture"})


class Broken(Exception):
    """The file ends or lies before we have read what it promised."""


class Unreadable(Exception):
    """The merged picture is stored in a way we do not read."""


@dataclass(frozen=True)
class Layers:
    """The names of layers and groups, topmost first; and whether the merged picture's next channel is transparency."""

    names: tuple[str, ...] = ()
    merged_is_clear: bool = False


@dataclass(frozen=True, kw_only=True)
class PsdHeader:
    """What the file says before its pixels; `merged_at` is where the merged picture's section begins."""

    is_big: bool
    width_px: int
    height_px: int
    n_channels: int
    bits: int
    space: str
    ppi: tuple[float, float] | None
    profile: bytes | None
    palette: bytes
    has_merged: bool
    layers: Layers
    merged_at: int
    resources: Mapping[int, bytes]

    @property
    def plates(self) -> tuple[SpotPlate, ...]:
        """The channels beyond the colours and the transparency, by name."""
        n_colours = N_COLOURS[self.space]
        clear = 0 if self.n_shown > n_colours else None
        return spot_plates.plates_of(self.resources, self.n_channels - n_colours, clear)

    @property
    def n_shown(self) -> int:
        """How many channels make the picture: its colours, and its transparency where it has one."""
        n_colours = N_COLOURS[self.space]
        clear = self.layers.merged_is_clear and self.n_channels > n_colours and self.space in ("GREY", "RGB", "CMYK")
        return n_colours + clear


def _take(file: BinaryIO, form: str) -> tuple[Any, ...]:
    size = struct.calcsize(form)
    data = file.read(size)
    if len(data) != size:
        raise Broken
    return struct.unpack(form, data)


def _section_end(file: BinaryIO, form: str) -> int:
    length: int = _take(file, form)[0]
    end = file.tell() + length
    if end > os.fstat(file.fileno()).st_size:
        raise Broken
    return end


def read_header(path: Path) -> PsdHeader | Refusal:
    """Read everything but pixels; raises Broken where the file ends too early."""
    with path.open("rb") as file:
        file.seek(4)
        version, _, n_channels, height_px, width_px, bits, mode = _take(file, ">H6sHIIHH")
        space = SPACES.get(mode)
        if space is None or bits not in (1, 8, 16, 32) or n_channels < N_COLOURS[space]:
            return UNSUPPORTED
        length = ">Q" if version == 2 else ">I"
        palette_end = _section_end(file, ">I")
        palette = file.read(min(768, palette_end - file.tell())) if space == "INDEXED" else b""
        file.seek(palette_end)
        found = _resources(file, _section_end(file, ">I"))
        layers_end = _section_end(file, length)
        layers = _layers(file, layers_end, version == 2)
        return PsdHeader(
            is_big=version == 2,
            width_px=width_px,
            height_px=height_px,
            n_channels=n_channels,
            bits=bits,
            space=space,
            ppi=_ppi(found.get(_RESOLUTION)),
            profile=found.get(_PROFILE),
            palette=palette,
            has_merged=found.get(_VERSION_INFO, b"\0\0\0\0\x01")[4:5] != b"\0",
            layers=layers,
            merged_at=layers_end,
            resources={number: found[number] for number in spot_plates.RESOURCES if number in found},
        )


def _resources(file: BinaryIO, end: int) -> dict[int, bytes]:
    found: dict[int, bytes] = {}
    while file.tell() + 12 <= end:
        signature, number, n_name = _take(file, ">4sHB")
        if signature != b"8BIM":
            break
        file.seek(n_name + (n_name + 1) % 2, 1)
        (size,) = _take(file, ">I")
        if file.tell() + size > end:
            break
        if number in _WANTED:
            found[number] = file.read(size)
            file.seek(size % 2, 1)
        else:
            file.seek(size + size % 2, 1)
    file.seek(end)
    return found


def _ppi(resource: bytes | None) -> tuple[float, float] | None:
    if resource is None or len(resource) < 12:
        return None
    across, down = struct.unpack_from(">I", resource, 0)[0] / 65536, struct.unpack_from(">I", resource, 8)[0] / 65536
    # Some programs write the number without its fixed point; a thousandth of a pixel per inch is no statement.
    return (across, down) if 1 <= across <= 20_000 and 1 <= down <= 20_000 else None


def _layers(file: BinaryIO, end: int, is_big: bool) -> Layers:
    """List the layers and groups from the topmost down, as the artist sees them; none when that part is damaged.

    A damaged layer section is no reason to refuse a file whose merged picture is whole.
    """
    try:
        if file.tell() + 4 > end:
            return Layers()
        info_end = _section_end(file, ">Q" if is_big else ">I")
        if info_end - file.tell() >= 2:
            return _layers_in(file, is_big)
        file.seek(info_end)
        file.seek(_take(file, ">I")[0], 1)
        return _layers_of_deep_file(file, end, is_big)
    except (Broken, struct.error, OSError, ValueError):
        return Layers()


def _layers_of_deep_file(file: BinaryIO, end: int, is_big: bool) -> Layers:
    # Files of 16 or 32 bits keep their layers in a later block of their own.
    while file.tell() + 12 <= end:
        _, key = _take(file, ">4s4s")
        (size,) = _take(file, ">Q" if is_big and key in (b"Lr16", b"Lr32", b"LMsk") else ">I")
        if key in (b"Lr16", b"Lr32"):
            return _layers_in(file, is_big)
        file.seek(size + (-size % 4), 1)
    return Layers()


def _layers_in(file: BinaryIO, is_big: bool) -> Layers:
    (count,) = _take(file, ">h")
    names = [_one_name(file, is_big) for _ in range(min(abs(count), MAX_LAYERS))]
    # A negative count says that the first channel after the colours is the merged picture's transparency.
    return Layers(tuple(name for name in reversed(names) if name and name != _GROUP_END), count < 0)


def _one_name(file: BinaryIO, is_big: bool) -> str:
    *_, n_channels = _take(file, ">4iH")
    file.seek(n_channels * (10 if is_big else 6) + 12, 1)
    end = _section_end(file, ">I")
    file.seek(_take(file, ">I")[0], 1)
    file.seek(_take(file, ">I")[0], 1)
    (length,) = _take(file, ">B")
    name = file.read(length).decode("mac_roman")
    file.seek(-(length + 1) % 4, 1)
    name = _unicode_name(file, end, is_big) or name
    file.seek(end)
    return name


def _unicode_name(file: BinaryIO, end: int, is_big: bool) -> str:
    while file.tell() + 12 <= end:
        _, key = _take(file, ">4s4s")
        (size,) = _take(file, ">Q" if is_big and key in _WIDE_BLOCKS else ">I")
        if key == b"luni":
            (n_units,) = _take(file, ">I")
            name = file.read(min(2 * n_units, size)).decode("utf-16-be")
            return "".join(sign for sign in name if sign.isprintable())  # a database keeps no NUL
        file.seek(size, 1)
    return ""


def write_merged(path: Path, header: PsdHeader, out_path: Path) -> None:
    """Write the merged picture as a TIFF; raises Broken or Unreadable.

    Ink of a CMYK file stays as the format has it, 0 for full ink; the caller turns it round. Transparency goes along
    as a last channel: some programs lay the merged colours over white, others leave anything at all under it.
    """
    _write_channels(path, header, out_path, first=0, n_channels=header.n_shown, space=header.space)


def write_channel(path: Path, header: PsdHeader, channel: int, out_path: Path) -> None:
    """Write one channel of the merged picture, counted from its colours on, as a grey TIFF; raises as above."""
    _write_channels(path, header, out_path, first=channel, n_channels=1, space="GREY")


def _write_channels(path: Path, header: PsdHeader, out_path: Path, *, first: int, n_channels: int, space: str) -> None:
    row_bytes = (header.width_px * header.bits + 7) // 8
    rows = slice(first * header.height_px, (first + n_channels) * header.height_px)
    with path.open("rb") as file, out_path.open("w+b") as out:
        file.seek(header.merged_at)
        (compression,) = _take(file, ">H")
        if compression > 2:
            raise Unreadable
        every = _packed_lengths(file, header, rows.stop) if compression == 1 else [row_bytes] * rows.stop
        lengths = every[rows]
        tiff_shell.start(out)
        _copy(file, out, sum(every[: rows.start]), sum(lengths), inflate=compression == 2)
        offsets, at = [], tiff_shell.HEADER_BYTES
        for length in lengths:
            offsets.append(at)
            at += length
        palette = [byte * 257 for byte in header.palette.ljust(768, b"\0")] if space == "INDEXED" else ()
        tiff_shell.finish(
            out,
            tiff_shell.Shell(
                width_px=header.width_px,
                height_px=header.height_px,
                n_channels=n_channels,
                bits=header.bits,
                space=space,
                rows_per_strip=1,
                offsets=offsets,
                lengths=lengths,
                packed=compression == 1,
                planar=n_channels > 1,
                palette=palette,
            ),
        )


def _packed_lengths(file: BinaryIO, header: PsdHeader, n_rows: int) -> list[int]:
    each = 4 if header.is_big else 2
    table = file.read(each * header.n_channels * header.height_px)
    if len(table) < each * n_rows:
        raise Broken
    return list(struct.unpack_from(f">{n_rows}{'I' if header.is_big else 'H'}", table))


def _copy(file: BinaryIO, out: BinaryIO, n_skipped: int, n_bytes: int, *, inflate: bool) -> None:
    """Copy so many bytes of the picture's, unpacked where it is packed whole, after as many are passed over."""
    start = out.tell()
    if inflate:
        unpack = zlib.decompressobj()
        while out.tell() - start < n_bytes and (data := file.read(1 << 18)):
            fresh = unpack.decompress(data, n_skipped + n_bytes)
            passed = min(n_skipped, len(fresh))
            n_skipped -= passed
            out.write(fresh[passed:])
    else:
        if os.fstat(file.fileno()).st_size - file.tell() < n_skipped + n_bytes:
            raise Broken
        file.seek(n_skipped, 1)
        shutil.copyfileobj(file, out, 1 << 20)
    if out.tell() - start < n_bytes:
        raise Broken
    out.truncate(start + n_bytes)
    out.seek(start + n_bytes)
