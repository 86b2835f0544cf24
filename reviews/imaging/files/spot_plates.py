"""The names of channels beyond the colours: spot plates, masks, what else a drawing program keeps there.

A PSD, and a TIFF that such a program wrote, names them in its image resources: 1006 and 1045 hold the names, 1007 and
1077 how each is shown (Adobe's published description, from memory). Any other TIFF of many inks names all of them in
InkNames (TIFF 6.0 section 16). Standard library only.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping
from pathlib import Path

from reviews.imaging.files import tiff_tags
from reviews.imaging.results import MOST_PLATES, SpotPlate

NAMES, UNICODE_NAMES, SHOWN, SHOWN_NEWER = 1006, 1045, 1007, 1077
RESOURCES = (NAMES, UNICODE_NAMES, SHOWN, SHOWN_NEWER)
_IMAGE_RESOURCES, _INK_NAMES = 34377, 333
_SPOT = 2  # among the ways a channel is shown: the others are masks
_MOST_LETTERS = 80
_RGB, _CMYK, _LAB = 0, 2, 7


def plates_of(resources: Mapping[int, bytes], n_extra: int, clear: int | None) -> tuple[SpotPlate, ...]:
    """Name the extra channels of a picture, its transparency left out; `clear` says which of them that is.

    A channel that the file does not name is called by its number.
    """
    names, shown = _names(resources), _shown(resources)
    out = []
    for extra in range(n_extra):
        if extra == clear:
            continue
        # Some writers list the transparency among the names and some do not.
        at = extra if len(names) >= n_extra or clear is None or extra < clear else extra - 1
        kind, colour = shown[at] if at < len(shown) else (None, "")
        name = names[at] if at < len(names) else ""
        out.append(SpotPlate(name=name, channel=extra, colour=colour, is_spot=None if kind is None else kind == _SPOT))
    return tuple(out[:MOST_PLATES])


def plates_in_tiff(path: Path, page: int, n_colours: int, n_extra: int, clear: int | None) -> tuple[SpotPlate, ...]:
    """Name the extra channels of a TIFF by its image resources, or by the names of its inks."""
    try:
        with path.open("rb") as file:
            tags = tiff_tags.byte_tags(file, page, (_IMAGE_RESOURCES, _INK_NAMES))
    except tiff_tags.UNREADABLE:
        tags = {}
    inks = [_readable(ink.decode("utf-8", "replace")) for ink in tags.get(_INK_NAMES, b"").split(b"\0") if ink]
    if len(inks) == n_colours + n_extra and _IMAGE_RESOURCES not in tags:
        return tuple(
            SpotPlate(name=inks[n_colours + extra], channel=extra, colour="", is_spot=True)
            for extra in range(n_extra)
            if extra != clear
        )[:MOST_PLATES]
    return plates_of(resources_in(tags.get(_IMAGE_RESOURCES, b"")), n_extra, clear)


def resources_in(data: bytes) -> dict[int, bytes]:
    """Read the image resources that tell of channels, as far as they are whole."""
    found: dict[int, bytes] = {}
    at = 0
    while at + 12 <= len(data) and data[at : at + 4] == b"8BIM":
        number, n_name = struct.unpack_from(">HB", data, at + 4)
        start = at + 7 + n_name + (n_name + 1) % 2
        if start + 4 > len(data):
            break
        (size,) = struct.unpack_from(">I", data, start)
        if number in RESOURCES:
            found[number] = data[start + 4 : start + 4 + size]
        at = start + 4 + size + size % 2
    return found


def _names(resources: Mapping[int, bytes]) -> list[str]:
    return _unicode_names(resources.get(UNICODE_NAMES, b"")) or _pascal_names(resources.get(NAMES, b""))


def _unicode_names(data: bytes) -> list[str]:
    out: list[str] = []
    at = 0
    while at + 4 <= len(data) and len(out) < 64:
        (n_units,) = struct.unpack_from(">I", data, at)
        end = at + 4 + 2 * n_units
        if end > len(data):
            break
        out.append(_readable(data[at + 4 : end].decode("utf-16-be", "replace")))
        at = end
    return out


def _pascal_names(data: bytes) -> list[str]:
    out: list[str] = []
    at = 0
    while at < len(data) and len(out) < 64:
        end = at + 1 + data[at]
        if end > len(data):
            break
        out.append(_readable(data[at + 1 : end].decode("mac_roman")))
        at = end
    return out


def _readable(name: str) -> str:
    return "".join(letter for letter in name if letter.isprintable()).strip()[:_MOST_LETTERS]


def _shown(resources: Mapping[int, bytes]) -> list[tuple[int, str]]:
    """Give for each channel how it is shown, and its colour."""
    newer = resources.get(SHOWN_NEWER, b"")
    data, each, first = (newer, 13, 4) if len(newer) >= 17 else (resources.get(SHOWN, b""), 14, 0)
    out = []
    for at in range(first, len(data) - 12, each):
        space, *parts, _, kind = struct.unpack_from(">H4HHB", data, at)
        out.append((kind, _colour(space, parts)))
    return out


def _colour(space: int, parts: list[int]) -> str:
    """Give a stated colour roughly as sRGB, "" where it is stated in another way: it only marks a plate on a screen."""
    if space == _RGB:
        return _hex([part / 65535 for part in parts[:3]])
    if space == _CMYK:  # stored the other way round: full is no ink
        return _hex([part / 65535 * parts[3] / 65535 for part in parts[:3]])
    if space == _LAB:
        a, b = (((part + 32768) % 65536 - 32768) / 100 for part in parts[1:3])
        return _hex(_rgb_of_lab(parts[0] / 100, a, b))
    return ""


def _rgb_of_lab(lightness: float, a: float, b: float) -> list[float]:
    """Convert CIELAB (D50) to coded sRGB, 0 to 1, clipped (IEC 61966-2-1; matrix adapted to D50, Lindbloom)."""
    fy = (lightness + 16) / 116
    cubes = [f**3 if f > 6 / 29 else (f - 4 / 29) * 3 * (6 / 29) ** 2 for f in (fy + a / 500, fy, fy - b / 200)]
    x, y, z = (white * cube for white, cube in zip((0.9642, 1.0, 0.8249), cubes, strict=True))
    linear = (
        3.1338561 * x - 1.6168667 * y - 0.4906146 * z,
        -0.9787684 * x + 1.9161415 * y + 0.0334540 * z,
        0.0719453 * x - 0.2289914 * y + 1.4052427 * z,
    )
    return [12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055 for v in (max(0.0, v) for v in linear)]


def _hex(rgb: list[float]) -> str:
    return "#" + "".join(f"{round(255 * min(1.0, max(0.0, part))):02x}" for part in rgb)
